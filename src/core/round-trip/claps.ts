/**
 * Clapping to the click: whether a measured round trip is plausible, and nothing else. People are no measuring device:
 * they run early, each by their own amount, so no figure for the round trip may come from here.
 */
import type { Result } from '../result/result.js';
import { failure, success } from '../result/result.js';
import type { Frames, Milliseconds, SampleRate } from '../units/index.js';
import { frames, millisecondsFromFrames, nearestFrame } from '../units/index.js';

export interface Clapping {
  /** Frames at which the clicks were heard, as rendered; in ascending order. */
  readonly clicks: readonly Frames[];
  /** Frames of the capture at which claps begin. */
  readonly claps: readonly Frames[];
  readonly roundTrip: Frames;
}

export type ClapVerdict = 'plausible' | 'earlier-than-people' | 'later-than-people';

export type ClapRefusal =
  | { readonly type: 'too-few'; readonly claps: number }
  /** The middle half of the claps lies over so many milliseconds: they do not follow the click. */
  | { readonly type: 'scattered'; readonly spread: Milliseconds };

const LEAST_CLAPS = 8;
/**
 * The median of the claps against the click. Repp, Psychonomic Bulletin & Review 12 (2005): the untrained tap some 20 to
 * 80 ms early, musicians 0 to 30 ms, individuals up to 180 ms. Nobody is late on average: 20 ms are left for the way
 * from hand to microphone and for the scatter of a few claps.
 */
const EARLIEST_MS = -180;
const LATEST_MS = 20;
/** Own choice: five times the spread of an untrained player at 120 bpm (4 % of the interval, the same review). */
const SCATTERED_MS = 130;

/** Each clap belongs to the click it is nearest to; one that is farther away than half an interval to none. */
export function judgeClaps({ clicks, claps, roundTrip }: Clapping, rate: SampleRate): Result<ClapVerdict, ClapRefusal> {
  const reach = medianOf(clicks.slice(1).map((click, i) => click - (clicks[i] ?? 0))) / 2;
  const early = claps.map((clap) => nearestTo(clap - roundTrip, clicks)).filter((by) => Math.abs(by) <= reach);
  if (early.length < LEAST_CLAPS) return failure({ type: 'too-few', claps: early.length });
  const ordered = early.sort((a, b) => a - b);
  const quarter = (share: number): number => ordered[Math.floor(share * (ordered.length - 1))] ?? 0;
  const spread = millisecondsFromFrames(frames(quarter(0.75) - quarter(0.25)), rate);
  if (spread > SCATTERED_MS) return failure({ type: 'scattered', spread });
  const median = millisecondsFromFrames(nearestFrame(medianOf(ordered)), rate);
  if (median < EARLIEST_MS) return success('earlier-than-people');
  return success(median > LATEST_MS ? 'later-than-people' : 'plausible');
}

/** How far `frame` is after the nearest click, negative before it. */
function nearestTo(frame: number, clicks: readonly number[]): number {
  return clicks.reduce((best, click) => (Math.abs(frame - click) < Math.abs(best) ? frame - click : best), Infinity);
}

/** Of none, not a number, which is near nothing. */
function medianOf(values: readonly number[]): number {
  const ordered = [...values].sort((a, b) => a - b);
  const half = ordered.length / 2;
  return ((ordered[Math.floor(half)] ?? NaN) + (ordered[Math.ceil(half) - 1] ?? NaN)) / 2;
}
