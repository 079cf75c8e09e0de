/**
 * Finds the first arrival of a probe in a correlation, or says why not. Nothing is guessed: what does not stand out by
 * the factor below is refused.
 */
import type { Result } from '../result/result.js';
import { failure, success } from '../result/result.js';
import type { Decibels, Frames } from '../units/index.js';
import { decibelsFromGain, frames, gain } from '../units/index.js';
import type { Peak } from './peaks.js';
import { firstArrival, highestIn, sizeAt, SMEAR_FRAMES } from './peaks.js';
import { findRepeats } from './repeats.js';

export interface Arrival {
  /** Frames from the first sample of the probe to that of its return. */
  readonly frames: Frames;
  /** −1 where the path inverts. */
  readonly sign: 1 | -1;
  /** How many times its peak is as high as the highest elsewhere. */
  readonly prominence: number;
  /** Of the return, dBFS: what lies within 8 frames of the peak. Noise adds to it, reflections don't. */
  readonly level: Decibels;
  /** Where the top lies between frames, −0.5 … 0.5, by a parabola (within 0.12 frames): for information only. */
  readonly offset: number;
}

export type SearchRefusal =
  | { readonly type: 'noise-only'; readonly prominence: number }
  | { readonly type: 'too-weak'; readonly prominence: number }
  /** It came later than is looked for. */
  | { readonly type: 'too-late'; readonly frames: Frames; readonly latest: Frames }
  /** Something arrives before the first that is above half the highest: the loudest is a reflection. */
  | { readonly type: 'hidden-behind-reflections'; readonly frames: Frames; readonly share: number }
  /** `ratio`: how loud each return is against the one before, signed. */
  | { readonly type: 'monitoring-loop'; readonly frames: Frames; readonly every: Frames; readonly ratio: number };

export interface SearchLimits {
  /** How long the sequence is. */
  readonly sequence: Frames;
  /** The latest lag that is believed. The correlation must reach at least 9 lags beyond. */
  readonly latest: Frames;
  /** So many frames after the arrival may hold reflections as high as itself or higher; 0 for a cable. */
  readonly reflections: Frames;
}

/** What a room answers within 100 ms at 48 kHz. */
export const ROOM_REFLECTIONS = frames(4800);

const LEAST_PROMINENCE = 4;
/** Own choice: of a thousand searches in noise alone none had more than 1.1. */
const NOISE_PROMINENCE = 1.6;
/** Converters ring so far before an arrival, by less than the prominence allows. */
const RINGING_FRAMES = 32;
/** Own choice: the floor is nearly normal, and reaches 5.5 standard deviations once in a thousand searches. */
const OVER_FLOOR = 7;

/**
 * The earliest peak of the absolute value above half the highest. Its prominence counts everything outside ±8 frames of
 * it but the reflections, and must be 4. A direct sound that is weaker than half of a reflection is not taken for noise:
 * whatever stands 7 standard deviations above the floor before the peak is a reason to refuse.
 */
export function searchCorrelation(correlation: Float64Array, limits: SearchLimits): Result<Arrival, SearchRefusal> {
  const repeats = findRepeats(correlation, limits.reflections);
  if (repeats !== null) {
    const { first, distance, ratio } = repeats;
    return failure({ type: 'monitoring-loop', frames: frames(first), every: frames(distance), ratio });
  }
  const peak = firstArrival(correlation);
  const prominence = prominenceOf(correlation, peak.lag, limits.reflections);
  if (prominence < NOISE_PROMINENCE) return failure({ type: 'noise-only', prominence });
  if (prominence < LEAST_PROMINENCE) return failure({ type: 'too-weak', prominence });
  if (peak.lag > limits.latest) return failure({ type: 'too-late', frames: frames(peak.lag), latest: limits.latest });
  const earlier = highestIn(correlation, 0, peak.lag - RINGING_FRAMES);
  if (earlier > OVER_FLOOR * floorBefore(correlation, peak.lag, limits)) {
    const share = earlier / Math.abs(peak.height);
    return failure({ type: 'hidden-behind-reflections', frames: frames(peak.lag), share });
  }
  return success({
    frames: frames(peak.lag),
    sign: peak.height < 0 ? -1 : 1,
    prominence,
    level: levelOf(correlation, peak.lag),
    offset: offsetOf(correlation, peak),
  });
}

function prominenceOf(correlation: Float64Array, lag: number, reflections: number): number {
  const before = highestIn(correlation, 0, lag - SMEAR_FRAMES);
  const after = highestIn(correlation, lag + Math.max(SMEAR_FRAMES, reflections) + 1, correlation.length);
  const elsewhere = Math.max(before, after);
  const height = sizeAt(correlation, lag);
  return height === 0 ? 0 : height / elsewhere;
}

/**
 * What noise and the sequence itself put before an arrival, as a standard deviation. A sequence sent once, not round and
 * round, is like itself by 1/√N at other lags too, and so is every reflection.
 */
function floorBefore(correlation: Float64Array, lag: number, { reflections, sequence }: SearchLimits): number {
  let [arrived, rest, count] = [0, 0, 0];
  for (let at = 0; at < correlation.length; at++) {
    const square = sizeAt(correlation, at) ** 2;
    if (at >= lag - RINGING_FRAMES && at <= lag + Math.max(RINGING_FRAMES, reflections)) arrived += square;
    else [rest, count] = [rest + square, count + 1];
  }
  return Math.sqrt(Math.max(rest / Math.max(1, count), arrived / sequence));
}

function levelOf(correlation: Float64Array, lag: number): Decibels {
  let sum = 0;
  for (let at = lag - SMEAR_FRAMES; at <= lag + SMEAR_FRAMES; at++) sum += sizeAt(correlation, at) ** 2;
  return decibelsFromGain(gain(Math.sqrt(sum)));
}

/** d = (a − c) / 2(a − 2b + c), a textbook formula. */
function offsetOf(correlation: Float64Array, { lag }: Peak): number {
  const [a, b, c] = [sizeAt(correlation, lag - 1), sizeAt(correlation, lag), sizeAt(correlation, lag + 1)];
  const bend = a - 2 * b + c;
  return bend < 0 ? Math.min(0.5, Math.max(-0.5, (0.5 * (a - c)) / bend)) : 0;
}
