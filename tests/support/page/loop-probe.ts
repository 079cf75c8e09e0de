/**
 * An independent probe of the round trip, in the page's own audio context: it hears what the program sends and what comes
 * in, and knows of neither the program's clocks nor its counting. The pilot that it plays on the second channel comes back
 * by both ways that a browser has: on the audio thread, and frame by frame from the track, where nothing is put in or lost.
 */
import { expect } from '@playwright/test';
import type { Page } from '@playwright/test';
import { noiseAt } from '../signals.js';
import { LOOP_PROBE_PATH } from './set-up.js';

/** Of what was sent, or of what came back. */
export interface Excerpt {
  /** Frame of its first sample. */
  readonly from: number;
  readonly samples: Float32Array;
}

/** How many frames after it was played the pilot comes back now. */
export interface Lags {
  /** On the audio thread, in frames of one counter. */
  readonly own: number;
  /** As the track counts; from another zero. It moves exactly where the loop moves. */
  readonly track: number;
}

interface ProbeWindow extends Window {
  loopProbe?: AudioWorkletNode;
  loopOpenings?: number;
  loopTrack?: { count: number; readonly samples: Float32Array };
}

/** Frames that are compared with the pilot. */
const WINDOW = 1024;
/** The longest lag that is looked for: one second. */
const LATEST = 48_000;
const BURST_FRAMES = 512;
/** Of the pilot, what comes back must be at least so like it: 1 would be a copy. */
const LIKE = 0.5;

export class LoopProbe {
  readonly #page: Page;

  private constructor(page: Page) {
    this.#page = page;
  }

  /** Call before the page is opened. */
  static async beside(page: Page): Promise<LoopProbe> {
    await page.addInitScript(placeProbe, { path: LOOP_PROBE_PATH });
    return new LoopProbe(page);
  }

  /** Resolves when the sound has been opened so many times. */
  async openings(count: number): Promise<void> {
    await this.#page.waitForFunction((wanted) => (window as ProbeWindow).loopOpenings === wanted, count);
  }

  /** As soon as the pilot comes back, and nothing that the program has sent is louder. */
  async lags(): Promise<Lags> {
    const tried: Lags[] = [];
    await expect(async () => {
      tried.push(await this.#lagsNow());
    }, 'the pilot comes back').toPass();
    return tried[0]!;
  }

  /**
   * Lengths of the holes in what came back on the audio thread so far, oldest first: silence that the browser put in. After
   * each, the own lag is so much longer.
   */
  async holes(): Promise<readonly number[]> {
    const answer = await this.#post({ type: 'holes' });
    return (await answer()).holes;
  }

  /** The frame at which the program's next sound begins. Ask before it can; await the inner promise after. */
  async nextSound(): Promise<() => Promise<number>> {
    const answer = await this.#post({ type: 'await-sound' });
    return async () => (await answer()).frame;
  }

  /** Resolves when a frame has come. */
  async reach(frame: number): Promise<void> {
    const answer = await this.#post({ type: 'await-frame', frame });
    await answer();
  }

  /** A burst of noise into the output at a frame. @returns whether that frame had not come yet. */
  async burst(at: number, seed: number): Promise<boolean> {
    const answer = await this.#post({ type: 'burst', at, seed });
    return (await answer()).frame < at;
  }

  /** What the program sent at frames [from, to). */
  sent(from: number, to: number): Promise<Excerpt> {
    return this.#excerpt('sent', from, to);
  }

  /** @throws where the pilot is not to be heard */
  async #lagsNow(): Promise<Lags> {
    const came = await this.#excerpt('came', -2 * WINDOW, 0);
    const track = await this.#page.evaluate((length) => {
      const { count, samples } = (window as ProbeWindow).loopTrack ?? { count: 0, samples: new Float32Array(1) };
      const newest = Array.from({ length }, (_, i) => samples[(count - length + i) % samples.length] ?? 0);
      return { from: count - length, newest };
    }, WINDOW);
    const own = frameOf(came.samples.subarray(0, WINDOW), came.from - LATEST, came.from);
    // Both were read at about the same moment, so it is about the same part of the pilot.
    const counted = frameOf(Float32Array.from(track.newest), own - LATEST, own + LATEST);
    return { own: came.from - own, track: track.from - counted };
  }

  async #excerpt(type: 'sent' | 'came', from: number, to: number): Promise<Excerpt> {
    const answer = await this.#post({ type, from, to });
    const { from: first, samples } = await answer();
    const bytes = Buffer.from(samples, 'base64');
    return {
      from: first,
      samples: new Float32Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length)),
    };
  }

  /** @returns what awaits the answer. */
  async #post(message: Readonly<Record<string, unknown>>): Promise<() => Promise<Answer>> {
    const handle = await this.#page.evaluateHandle((posted) => {
      const { loopProbe } = window as ProbeWindow;
      if (loopProbe === undefined) throw new Error('Got no probe when expected one: sound is not open.');
      const tag = String(Math.random());
      const answer = new Promise<Answer>((resolve) => {
        loopProbe.port.addEventListener('message', ({ data }: MessageEvent<FromProbe>) => {
          if (data.tag !== tag) return;
          const bytes = new Uint8Array(data.samples?.buffer ?? new ArrayBuffer(0));
          let binary = '';
          for (let i = 0; i < bytes.length; i += 32_768)
            binary += String.fromCharCode(...bytes.subarray(i, i + 32_768));
          resolve({ frame: data.frame ?? 0, from: data.from ?? 0, holes: data.holes ?? [], samples: btoa(binary) });
        });
      });
      loopProbe.port.postMessage({ ...posted, tag });
      return { answer };
    }, message);
    return () => handle.evaluate(({ answer }) => answer);
  }
}

interface FromProbe {
  readonly tag: string;
  readonly frame?: number;
  readonly from?: number;
  readonly holes?: readonly number[];
  readonly samples?: Float32Array<ArrayBuffer>;
}

interface Answer {
  readonly frame: number;
  readonly from: number;
  readonly holes: readonly number[];
  /** Base64 of 32-bit samples. */
  readonly samples: string;
}

/** Where in an excerpt the burst of a seed begins, as a frame; Infinity where it does not. */
export function burstIn({ from, samples }: Excerpt, seed: number): number {
  const burst = Float32Array.from({ length: BURST_FRAMES }, (_, i) => noiseAt(i, seed));
  const { place, like } = bestPlace(samples, burst);
  return like < LIKE ? Infinity : from + place;
}

/** The pilot's frame that the first of some received samples is. */
function frameOf(received: Float32Array, first: number, last: number): number {
  const from = Math.max(0, first);
  const pilot = Float32Array.from({ length: last - from + WINDOW }, (_, i) => noiseAt(from + i, 0));
  const { place, like } = bestPlace(pilot, received);
  if (like >= LIKE) return from + place;
  throw new Error(`Got what is ${like.toFixed(2)} like the pilot when expected ${String(LIKE)} or more.`);
}

/** Where the one is most like part of the other, by their correlation, and the coefficient there. */
function bestPlace(long: Float32Array, short: Float32Array): { readonly place: number; readonly like: number } {
  const energy = (of: Float32Array): number => of.reduce((sum, x) => sum + x * x, 0);
  let best = 0;
  let place = 0;
  for (let at = 0; at + short.length <= long.length; at++) {
    let product = 0;
    for (let i = 0; i < short.length; i++) product += (long[at + i] ?? 0) * (short[i] ?? 0);
    if (Math.abs(product) <= best) continue;
    best = Math.abs(product);
    place = at;
  }
  const like = best / Math.sqrt(energy(short) * energy(long.subarray(place, place + short.length)));
  return { place, like };
}

/** Runs in the page before any of its scripts. */
function placeProbe({ path }: { path: string }): void {
  let probe: AudioWorkletNode | null = null;
  // eslint-disable-next-line @typescript-eslint/unbound-method -- called with `this` below
  const { connect } = AudioNode.prototype;
  const plug: (this: AudioNode, to: AudioNode, output?: number, input?: number) => AudioNode = connect;
  AudioNode.prototype.connect = function (this: AudioNode, ...args: unknown[]): AudioNode {
    if (args[0] instanceof AudioDestinationNode && probe !== null) plug.call(this, probe, 0, 0);
    return Reflect.apply(connect, this, args) as AudioNode;
  };

  // eslint-disable-next-line @typescript-eslint/unbound-method -- called with `this` below
  const { addModule } = AudioWorklet.prototype;
  AudioWorklet.prototype.addModule = async function (this: AudioWorklet, url: string | URL): Promise<void> {
    await addModule.call(this, path);
    await addModule.call(this, url);
  };

  // eslint-disable-next-line @typescript-eslint/unbound-method -- called with `this` below
  const { createMediaStreamSource } = AudioContext.prototype;
  AudioContext.prototype.createMediaStreamSource = function (this: AudioContext, stream: MediaStream) {
    const source = createMediaStreamSource.call(this, stream);
    probe = new AudioWorkletNode(this, 'loop-probe', { numberOfInputs: 2, outputChannelCount: [2] });
    probe.port.start();
    plug.call(source, probe, 0, 1);
    plug.call(probe, this.destination);
    const here = window as ProbeWindow;
    here.loopProbe = probe;
    here.loopOpenings = (here.loopOpenings ?? 0) + 1;
    void count(stream);
    return source;
  };

  /** Counts the track's frames, and keeps the newest of its second channel. */
  async function count(stream: MediaStream): Promise<void> {
    const { MediaStreamTrackProcessor } = window as unknown as {
      MediaStreamTrackProcessor: new (of: { track: MediaStreamTrack | undefined; maxBufferSize: number }) => {
        readable: ReadableStream<AudioData>;
      };
    };
    const [track] = stream.getAudioTracks();
    const kept = { count: 0, samples: new Float32Array(2 ** 16) };
    (window as ProbeWindow).loopTrack = kept;
    const reader = new MediaStreamTrackProcessor({ track, maxBufferSize: 1000 }).readable.getReader();
    for (;;) {
      const { done, value } = await reader.read();
      if (done) return;
      const piece = new Float32Array(value.numberOfFrames);
      value.copyTo(piece, { planeIndex: value.numberOfChannels - 1, format: 'f32-planar' });
      value.close();
      piece.forEach((sample, i) => {
        kept.samples[(kept.count + i) % kept.samples.length] = sample;
      });
      kept.count += piece.length;
    }
  }
}
