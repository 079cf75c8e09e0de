/**
 * Whether what came back goes round: an input that is also heard in the output sends everything out again, one distance
 * later each time, each time by the same factor weaker or stronger.
 */
import type { Peak } from './peaks.js';
import { floorOf, highestIn, peaksAbove, sizeAt } from './peaks.js';

export interface Repeats {
  /** Lag of the first arrival. */
  readonly first: number;
  /** Frames from each to the next. */
  readonly distance: number;
  /** Height of each over the one before, signed. */
  readonly ratio: number;
}

/** Peaks looked at: any lower than a fifth of the highest, or that the floor could hold, is not "comparable". */
const LEAST_OF_HIGHEST = 0.2;
const LEAST_OF_FLOOR = 8;
const MOST_PEAKS = 16;
/** Weaker returns than this (−12 dB) neither mislead a search nor howl. */
const LEAST_RATIO = 0.25;
/** How far equal distances and equal ratios may differ: filters in the loop smear, blocks don't. */
const DISTANCE_FRAMES = 2;
const RATIO_FACTOR = 1.3;

/**
 * Looks from the earliest peak on. Within `reflections` frames of it, where walls answer too, three repeats at equal
 * distances must be there, none lower than a fifth of the highest; beyond, two, or one whose next lies past the end.
 * @returns null where nothing goes round
 */
export function findRepeats(correlation: Float64Array, reflections: number): Repeats | null {
  const floor = LEAST_OF_FLOOR * floorOf(correlation);
  const least = Math.max(floor, LEAST_OF_HIGHEST * highestIn(correlation, 0, correlation.length));
  const [first, ...later] = peaksAbove(correlation, least, MOST_PEAKS);
  if (first === undefined || least === 0) return null;
  for (const second of later) {
    const ratio = second.height / first.height;
    const distance = second.lag - first.lag;
    const far = distance > reflections;
    if (Math.abs(ratio) < LEAST_RATIO) continue;
    const third = follower(correlation, first, second, far ? floor : least);
    if (third === null) continue;
    const goesOn = far || (third !== 'past-the-end' && isPeak(follower(correlation, second, third, least)));
    if (goesOn) return { first: first.lag, distance, ratio };
  }
  return null;
}

const isPeak = (peak: Peak | 'past-the-end' | null): peak is Peak => peak !== null && peak !== 'past-the-end';

/** The peak that follows `second` as `second` follows `first`. */
function follower(correlation: Float64Array, first: Peak, second: Peak, least: number): Peak | 'past-the-end' | null {
  const ratio = second.height / first.height;
  const expected = { lag: 2 * second.lag - first.lag, height: second.height * ratio };
  if (expected.lag + DISTANCE_FRAMES >= correlation.length) return 'past-the-end';
  let lag = expected.lag - DISTANCE_FRAMES;
  for (let near = lag; near <= expected.lag + DISTANCE_FRAMES; near++) {
    if (sizeAt(correlation, near) > sizeAt(correlation, lag)) lag = near;
  }
  const height = correlation[lag] ?? 0;
  const likeness = height / expected.height;
  const fits = likeness > 1 / RATIO_FACTOR && likeness < RATIO_FACTOR && Math.abs(height) >= least;
  return fits ? { lag, height } : null;
}
