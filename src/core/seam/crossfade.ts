/**
 * The crossfade of a seam, matched to how alike its two signals are. Source: Fink, Holters, Zölzer, "Signal-matched
 * power-complementary cross-fading and dry-wet mixing", DAFx-16 (2016): gains x and 1 − x, both divided by
 * √(x² + (1−x)² + 2r·x(1−x)), r the correlation of the two signals. Alike (r = 1) that is the linear fade, unrelated
 * (r = 0) the equal-power one.
 *
 * Bound, for signals that have the correlation they are matched to: of equal power, the power stays what it was, to
 * 1e-12; 4.8 dB apart or less, it stays within ±1 dB of the straight line between the two. Farther apart it leaves the
 * line at the quiet end (6 dB apart: −1.33 dB; 20 dB apart: −7.1 dB), where the line itself is not what one hears.
 */
import type { Frames, SampleRate } from '../units/index.js';
import { nearestFrame, QuantityError } from '../units/index.js';

export interface CrossfadeTables {
  /** Rising gain of what comes in. */
  readonly fadeIn: Float32Array<ArrayBuffer>;
  /** Falling gain of what goes out: exactly the rising one reversed. */
  readonly fadeOut: Float32Array<ArrayBuffer>;
}

/** Own choice within the 10 to 30 ms of common practice: short fades cut attacks less. */
const FADE_SECONDS = 0.01;
/** For signals against each other no gain helps: the fade is over before its dip is heard. Own choice. */
const OPPOSED_FADE_SECONDS = 0.002;

/** Length of the crossfade at a seam: 10 ms, or 2 ms where the signals work against each other (`correlation` < 0). */
export const crossfadeFrames = (rate: SampleRate, correlation: number): Frames =>
  nearestFrame(rate * (correlation < 0 ? OPPOSED_FADE_SECONDS : FADE_SECONDS));

/**
 * Tables of `length` gains each, taken in the middle of each frame (x = (i + ½)/length): so the two are each other's
 * mirror and windows adjoin. Rounded to 32 bits: the power of equal signals is right to 2e-7.
 *
 * @param correlation of the two signals; clamped to [0, 1], since below zero the gains would grow without bound.
 * @throws {QuantityError} if it is not a number
 */
export function crossfadeTables(length: Frames, correlation: number): CrossfadeTables {
  const tables = { fadeIn: new Float32Array(length), fadeOut: new Float32Array(length) };
  writeCrossfade(tables.fadeIn, tables.fadeOut, correlation);
  return tables;
}

/**
 * Like crossfadeTables, into the caller's memory; allocates nothing.
 * @throws {QuantityError} if the two differ in length or `correlation` is not a number
 */
export function writeCrossfade(fadeIn: Float32Array, fadeOut: Float32Array, correlation: number): void {
  const length = fadeIn.length;
  if (fadeOut.length !== length) {
    throw new QuantityError(`Got ${fadeOut.length} gains to fade out when expected ${length}, as many as to fade in.`);
  }
  const r = clampedCorrelation(correlation);
  for (let i = 0; i < length; i++) {
    const rising = matchedGain((i + 0.5) / length, r);
    fadeIn[i] = rising;
    fadeOut[length - 1 - i] = rising;
  }
}

/** The rising gain at x in [0, 1] for a correlation r in [0, 1]; the falling one is that of 1 − x. */
export function matchedGain(x: number, r: number): number {
  return x / Math.sqrt(x * x + (1 - x) * (1 - x) + 2 * r * x * (1 - x));
}

/** What a crossfade can be matched to. @throws {QuantityError} for what is not a number */
export function clampedCorrelation(correlation: number): number {
  if (Number.isNaN(correlation)) throw new QuantityError('Got NaN as a correlation when expected −1 to 1.');
  return Math.min(1, Math.max(0, correlation));
}
