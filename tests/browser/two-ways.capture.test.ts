/**
 * The two ways by which an input can be recorded, with the browser's fake device: what the audio thread gets, and what a
 * worker reads from the track. The device runs at 44.1 kHz, so the context does.
 */
import { expect, test } from '@playwright/test';
import type { Page } from '@playwright/test';
import { builtPath } from '../support/page/built.js';
import { RECORDER_PATH } from '../support/page/set-up.js';

const RATE = 44_100;
const SECONDS = 6;

interface BothWays {
  /** Base64 of 32-bit samples. */
  readonly own: string;
  readonly counted: string;
  /** Whether each piece began where the one before it had ended. */
  readonly whole: boolean;
}

/** Runs in the page: records both ways for some seconds. */
async function recordBoth(job: {
  recorder: string;
  counter: string;
  rate: number;
  seconds: number;
}): Promise<BothWays> {
  interface Piece {
    readonly frame: number;
    readonly frames: number;
    readonly samples: Float32Array<ArrayBuffer>;
  }
  const plain = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };
  const stream = await navigator.mediaDevices.getUserMedia({ audio: plain });
  const track = stream.getAudioTracks()[0]!;
  const context = new AudioContext({ sampleRate: job.rate, latencyHint: 0.1 });
  await context.resume();
  await context.audioWorklet.addModule(job.recorder);
  const { MediaStreamTrackProcessor } = window as unknown as {
    MediaStreamTrackProcessor: new (of: { track: MediaStreamTrack }) => { readable: ReadableStream };
  };
  const { readable } = new MediaStreamTrackProcessor({ track });
  const { port1, port2 } = new MessageChannel();
  const pieces: Piece[] = [];
  let frames = 0;
  const enough = new Promise<void>((resolve) => {
    port2.onmessage = ({ data }: MessageEvent<Piece>) => {
      pieces.push({ ...data, samples: data.samples.slice(0, data.frames) });
      port2.postMessage(data.samples, [data.samples.buffer]);
      frames += data.frames;
      if (frames >= job.seconds * job.rate) resolve();
    };
  });
  const worker = new Worker(job.counter, { type: 'module' });
  worker.postMessage({ stream: readable, sampleRate: job.rate, channels: 1 }, [
    port1,
    readable as ReadableStream & Transferable,
  ]);
  const node = new AudioWorkletNode(context, 'recorder', { channelCount: 2, channelCountMode: 'explicit' });
  context.createMediaStreamSource(stream).connect(node);
  node.connect(context.destination);
  await enough;
  const own = await new Promise<Float32Array[]>((resolve) => {
    node.port.onmessage = ({ data }: MessageEvent<Float32Array[]>) => {
      resolve(data);
    };
    node.port.postMessage('give');
  });
  worker.terminate();
  track.stop();
  await context.close();
  const counted = new Float32Array(frames);
  let whole = true;
  let at = 0;
  for (const piece of pieces) {
    whole &&= piece.frame === at;
    counted.set(piece.samples, at);
    at += piece.frames;
  }
  const text = (samples: Float32Array): string => {
    const bytes = new Uint8Array(samples.buffer, samples.byteOffset, samples.byteLength);
    let binary = '';
    for (let i = 0; i < bytes.length; i += 32_768) binary += String.fromCharCode(...bytes.subarray(i, i + 32_768));
    return btoa(binary);
  };
  return { own: text(own[0]!), counted: text(counted), whole };
}

function samplesOf(text: string): Float32Array {
  const bytes = Buffer.from(text, 'base64');
  return new Float32Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length));
}

const PATTERN = 64;

/** Where 64 samples of `own` are in `counted`; −1 where they are not, or more than once. */
function placeOf(own: Float32Array, at: number, counted: Float32Array): number {
  let place = -1;
  for (let from = 0; from + PATTERN <= counted.length; from++) {
    let same = 0;
    while (same < PATTERN && own[at + same] === counted[from + same]) same++;
    if (same < PATTERN) continue;
    if (place >= 0) return -1;
    place = from;
  }
  return place;
}

/** How many frames of `own` are the same in `counted` to the bit, zeros that were put in left out, and how many are not. */
function compare(own: Float32Array, counted: Float32Array) {
  let same = 0;
  let lost = 0;
  let shift: number | null = null;
  for (let at = 0; at + PATTERN <= own.length;) {
    if (shift !== null && at - shift < counted.length && own[at] === counted[at - shift]) {
      same++;
      at++;
    } else if (own[at] === 0) {
      at++;
    } else {
      const place = placeOf(own, at, counted);
      if (place < 0) lost++;
      shift = place < 0 ? null : at - place;
      at += place < 0 ? 1 : 0;
    }
  }
  return { same, lost };
}

async function atTheDevice(page: Page): Promise<void> {
  await page.context().grantPermissions(['microphone']);
  await page.goto('/');
}

test('both ways bring the same samples to the bit', async ({ page }) => {
  await atTheDevice(page);
  const job = { recorder: RECORDER_PATH, counter: builtPath('input-counter'), rate: RATE, seconds: SECONDS };
  const recorded = await page.evaluate(recordBoth, job);
  expect(recorded.whole).toBe(true);
  const own = samplesOf(recorded.own);
  const counted = samplesOf(recorded.counted);
  const { same, lost } = compare(own, counted);
  // Silence may have been put into the one; what the other has not got yet comes at its end.
  expect(same).toBeGreaterThan((SECONDS - 2) * RATE);
  expect(lost).toBeLessThan(RATE / 10);
});
