/**
 * A studio round the page: a microphone made in the page itself, and a scripted player at it who hears what the program
 * plays. The delay from the program's output back to its input is known to the frame, so a test can ask for exactness.
 */
import type { Page } from '@playwright/test';
import { PERFORMER_PATH } from './set-up.js';

/** Frames of the delay line, and of the block more that a loop of nodes costs: the true round trip outside the engine. */
const DELAY_FRAMES = 4800;
export const ROUND_TRIP_FRAMES = DELAY_FRAMES + 128;
export const RATE = 48_000;

export interface Tape {
  readonly heard: Float32Array;
  readonly played: Float32Array;
}

interface StudioWindow extends Window {
  studio?: AudioWorkletNode;
  tape?: Promise<{ heard: string; played: string }>;
  heardAt?: Promise<number>;
  reached?: Promise<number>;
}

export class Studio {
  readonly #page: Page;

  private constructor(page: Page) {
    this.#page = page;
  }

  /** Call before the page is opened. */
  static async around(page: Page): Promise<Studio> {
    await page.addInitScript(buildStudio, { path: PERFORMER_PATH, delay: DELAY_FRAMES });
    return new Studio(page);
  }

  /** The performer's frame at which the next sound begins. Ask before it can; await the inner promise after. */
  async listen(): Promise<() => Promise<number>> {
    await this.#page.evaluate(() => {
      const { studio } = window as StudioWindow;
      if (studio === undefined) throw new Error('Got no performer when expected one: sound is not open.');
      const tag = String(Math.random());
      (window as StudioWindow).heardAt = new Promise((resolve) => {
        studio.port.addEventListener(
          'message',
          ({ data }: MessageEvent<{ type: string; tag: string; frame: number }>) => {
            if (data.type === 'heard' && data.tag === tag) resolve(data.frame);
          },
        );
      });
      studio.port.postMessage({ type: 'listen', tag });
    });
    return () => this.#page.evaluate(() => (window as StudioWindow).heardAt ?? -1);
  }

  /** Joins the program's output to its input by a cable of a gain; 0 takes it away. */
  async plugCable(gain: number): Promise<void> {
    await this.#page.evaluate((value) => {
      (window as StudioWindow).studio?.port.postMessage({ type: 'cable', gain: value });
    }, gain);
  }

  /** Plays a stroke at each of the performer's frames. */
  async play(strokes: readonly number[]): Promise<void> {
    await this.#page.evaluate((list) => {
      (window as StudioWindow).studio?.port.postMessage({ type: 'play', strokes: list });
    }, strokes);
  }

  /** Resolves when the performer has come to a frame. */
  async reach(frame: number): Promise<void> {
    await this.#page.evaluate(
      (target) =>
        new Promise<void>((resolve) => {
          const { studio } = window as StudioWindow;
          studio?.port.addEventListener('message', ({ data }: MessageEvent<{ type: string; frame: number }>) => {
            if (data.type === 'reached' && data.frame === target) resolve();
          });
          studio?.port.postMessage({ type: 'mark', frame: target });
        }),
      frame,
    );
  }

  /** What was heard and played at the performer's frames [from, to). */
  async tape(from: number, to: number): Promise<Tape> {
    const { heard, played } = await this.#page.evaluate(
      ([begin, end]) =>
        new Promise<{ heard: string; played: string }>((resolve) => {
          const { studio } = window as StudioWindow;
          const text = (samples: Float32Array): string => {
            const bytes = new Uint8Array(samples.buffer, samples.byteOffset, samples.byteLength);
            let binary = '';
            for (let i = 0; i < bytes.length; i += 32_768)
              binary += String.fromCharCode(...bytes.subarray(i, i + 32_768));
            return btoa(binary);
          };
          studio?.port.addEventListener('message', ({ data }: MessageEvent<{ type: string } & Tape>) => {
            if (data.type === 'tape') resolve({ heard: text(data.heard), played: text(data.played) });
          });
          studio?.port.postMessage({ type: 'tape', from: begin, to: end });
        }),
      [from, to] as const,
    );
    return { heard: samplesOf(heard), played: samplesOf(played) };
  }
}

/** Runs in the page before any of its scripts. */
function buildStudio({ path, delay }: { path: string; delay: number }): void {
  let studio: AudioWorkletNode | null = null;
  // eslint-disable-next-line @typescript-eslint/unbound-method -- called with `this` below
  const { connect } = AudioNode.prototype;
  const plug: (this: AudioNode, to: AudioNode) => AudioNode = connect;
  AudioNode.prototype.connect = function (this: AudioNode, ...args: unknown[]): AudioNode {
    const [to] = args;
    if (to instanceof AudioDestinationNode && studio !== null) plug.call(this, studio);
    return Reflect.apply(connect, this, args) as AudioNode;
  };

  // eslint-disable-next-line @typescript-eslint/unbound-method -- called with `this` below
  const { addModule } = AudioWorklet.prototype;
  AudioWorklet.prototype.addModule = async function (this: AudioWorklet, url: string | URL): Promise<void> {
    await addModule.call(this, path);
    await addModule.call(this, url);
  };

  const stream = new MediaStream();
  const track = {
    label: 'Scripted performer',
    readyState: 'live',
    getSettings: () => ({
      sampleRate: 48_000,
      channelCount: 1,
      echoCancellation: false,
      noiseSuppression: false,
      autoGainControl: false,
    }),
    addEventListener: () => undefined,
    stop: () => undefined,
  };
  stream.getAudioTracks = () => [track as unknown as MediaStreamTrack];
  stream.getTracks = () => [track as unknown as MediaStreamTrack];
  navigator.mediaDevices.getUserMedia = () => Promise.resolve(stream);

  AudioContext.prototype.createMediaStreamSource = function (this: AudioContext): MediaStreamAudioSourceNode {
    const line = new DelayNode(this, { maxDelayTime: 1, delayTime: delay / this.sampleRate });
    studio = new AudioWorkletNode(this, 'performer', { outputChannelCount: [1] });
    studio.port.start();
    plug.call(studio, line);
    (window as StudioWindow).studio = studio;
    return line as unknown as MediaStreamAudioSourceNode;
  };
}

function samplesOf(text: string): Float32Array {
  const bytes = Buffer.from(text, 'base64');
  return new Float32Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length));
}
