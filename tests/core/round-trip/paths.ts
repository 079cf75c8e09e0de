/** Paths that a probe may take: made of numbers alone, the same on every machine. */
import { seededNoise } from '../../support/tones.js';

export interface Reflection {
  /** Frames after the direct sound; need not be whole. */
  readonly after: number;
  readonly gain: number;
}

export interface Path {
  /** Frames; need not be whole. */
  readonly delay: number;
  readonly gain?: number;
  readonly reflections?: readonly Reflection[];
  /** Minimum-phase band limits in hertz, Butterworth, of second or fourth order. */
  readonly highPass?: number;
  readonly lowPass?: number;
  readonly order?: 2 | 4;
}

const RATE = 48_000;
const HALF = 24;

/** Uniform 0 … 1. */
export const random = (seed: number): (() => number) => {
  const noise = seededNoise(seed);
  return () => (noise() + 1) / 2;
};

/** Normal numbers of variance 1 (Box and Muller 1958). */
export function gaussian(seed: number): () => number {
  const uniform = random(seed);
  return () => Math.sqrt(-2 * Math.log(1 - uniform())) * Math.cos(2 * Math.PI * uniform());
}

export const rms = (samples: Float32Array): number =>
  Math.sqrt(samples.reduce((sum, x) => sum + x * x, 0) / Math.max(1, samples.length));

/** What comes back of `sent`, in the first `length` frames after it began. */
export function through(path: Path, sent: ArrayLike<number>, length: number): Float32Array {
  const out = new Float64Array(length);
  const arrivals = [{ after: 0, gain: 1 }, ...(path.reflections ?? [])];
  for (const { after, gain } of arrivals) addDelayed(out, sent, path.delay + after, gain * (path.gain ?? 1));
  const filters = [
    ...(path.highPass === undefined ? [] : butterworth('high', path.highPass, path.order ?? 2)),
    ...(path.lowPass === undefined ? [] : butterworth('low', path.lowPass, path.order ?? 2)),
  ];
  filters.forEach((filter) => run(filter, out));
  return Float32Array.from(out);
}

/** Adds noise so that the signal's mean square over [from, to) is `ratio` dB above the noise's. */
export function withNoise(samples: Float32Array, ratio: number, seed: number, from: number, to: number): Float32Array {
  const level = rms(samples.subarray(from, to)) * 10 ** (-ratio / 20);
  const noise = gaussian(seed);
  return samples.map((x) => x + level * noise());
}

function addDelayed(out: Float64Array, sent: ArrayLike<number>, delay: number, gain: number): void {
  const whole = Math.floor(delay);
  const part = delay - whole;
  const kernel = part === 0 ? [[0, 1] as const] : sinc(part);
  for (const [shift, weight] of kernel) {
    const at = whole + shift;
    const scale = gain * weight;
    const end = Math.min(sent.length, out.length - at);
    for (let i = Math.max(0, -at); i < end; i++) out[at + i] = (out[at + i] ?? 0) + scale * (sent[i] ?? 0);
  }
}

/** A delay of a part of a frame: sinc under a Kaiser-like (raised cosine) window of 48 frames. */
function sinc(part: number): (readonly [number, number])[] {
  return Array.from({ length: 2 * HALF }, (_, i) => {
    const shift = i - HALF + 1;
    const x = shift - part;
    const window = 0.5 + 0.5 * Math.cos((Math.PI * x) / (HALF + 1));
    return [shift, x === 0 ? 1 : (window * Math.sin(Math.PI * x)) / (Math.PI * x)] as const;
  });
}

interface Biquad {
  readonly b: readonly [number, number, number];
  readonly a: readonly [number, number];
}

/** Second-order sections by the bilinear transform (Bristow-Johnson, "Audio EQ Cookbook"; from memory). */
function butterworth(kind: 'high' | 'low', hertz: number, order: 2 | 4): Biquad[] {
  const qualities = order === 2 ? [Math.SQRT1_2] : [0.541196, 1.306563];
  return qualities.map((quality) => {
    const angle = (2 * Math.PI * hertz) / RATE;
    const [cosine, alpha] = [Math.cos(angle), Math.sin(angle) / (2 * quality)];
    const edge = kind === 'low' ? (1 - cosine) / 2 : (1 + cosine) / 2;
    const middle = kind === 'low' ? 1 - cosine : -1 - cosine;
    const scale = 1 + alpha;
    return { b: [edge / scale, middle / scale, edge / scale], a: [(-2 * cosine) / scale, (1 - alpha) / scale] };
  });
}

function run({ b, a }: Biquad, samples: Float64Array): void {
  let [x1, x2, y1, y2] = [0, 0, 0, 0];
  for (let i = 0; i < samples.length; i++) {
    const x = samples[i] ?? 0;
    const y = b[0] * x + b[1] * x1 + b[2] * x2 - a[0] * y1 - a[1] * y2;
    [x2, x1, y2, y1] = [x1, x, y1, y];
    samples[i] = y;
  }
}
