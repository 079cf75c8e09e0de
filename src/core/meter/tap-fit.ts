/**
 * Taps laid on a pattern: which tap belongs to which beat, and the straight line of tap time on beat that follows. The
 * pattern gives the pulses from tap to tap, over and over: [1] for even taps, [2, 2, 3] for the felt beats of 7/8.
 *
 * Several layings compete by cost, which is a negative log likelihood up to a constant: the residuals under Student's
 * distribution (normal scatter of unknown size, known beforehand to be about 4 % of the interval), plus a price for each
 * tap that is left out, and each that is missing. A tap is left out only where that is cheaper than believing it.
 */
import { leastSquares, mean } from './tap-statistics.js';

export interface TapFit {
  /** Milliseconds. */
  readonly pulse: number;
  /** Standard error of `pulse` as a share of it. */
  readonly error: number;
  /** Degrees of freedom behind `error`. */
  readonly freedom: number;
  readonly used: number;
  readonly leftOut: number;
  readonly missed: number;
  readonly cost: number;
}

/** Taps and the pulse on which each lies. */
interface Laying {
  readonly times: readonly number[];
  readonly pulses: readonly number[];
  readonly leftOut: number;
  readonly missed: number;
  /** Beat of the pattern on which the first tap lies. */
  readonly rotation: number;
}

/** Usual scatter of taps as a share of their interval, 2 to 4 % and more (Repp 2005, Repp and Su 2013; from memory). */
const USUAL_SCATTER = 0.04;
/** How many taps that prior knowledge is worth. */
const PRIOR_TAPS = 4;
/** Farther than this share of the shortest beat from its place, a tap belongs to no beat. */
const REACH = 0.35;
// Prices as log odds; own choice, tried against simulated taps: at the usual scatter about one tap in 1500 is left out.
const LEFT_OUT = 6;
const MISSED = 2;
const NOT_FROM_THE_FIRST_BEAT = Math.LN2;
/** Intervals from which the pulse is guessed, the newest. */
const GUESSES = 8;

/**
 * The cheapest fit of at least two taps in order of time; null where no laying believes half of them.
 * @param times milliseconds, strictly rising
 */
export function fitTaps(times: readonly number[], pattern: readonly number[]): TapFit | null {
  let best: TapFit | null = null;
  for (const laying of layings(times, pattern)) {
    const fit = withoutOutliers(laying, mean(pattern), times.length);
    if (fit !== null && (best === null || fit.cost < best.cost)) best = fit;
  }
  return best;
}

/** Every different laying that some guess of the pulse, start of the pattern, and first tap gives. */
function layings(times: readonly number[], pattern: readonly number[]): Iterable<Laying> {
  const found = new Map<string, Laying>();
  const intervals = times.slice(1).map((time, i) => time - (times[i] ?? 0));
  const guesses = intervals.slice(-GUESSES).flatMap((gap) => [...new Set(pattern)].map((beat) => gap / beat));
  for (const rotation of pattern.keys()) {
    for (const guess of guesses) {
      for (const skipped of times.length > 2 ? [0, 1] : [0]) {
        const laying = lay(times.slice(skipped), pattern, rotation, guess, skipped);
        found.set(`${rotation}:${laying.times.join()}:${laying.pulses.join()}`, laying);
      }
    }
  }
  return found.values();
}

/** From tap to tap: one beat on, or two where a tap is missing; a tap near neither is left out. */
function lay(
  times: readonly number[],
  pattern: readonly number[],
  rotation: number,
  pulse: number,
  skipped: number,
): Laying {
  const reach = REACH * Math.min(...pattern);
  const used = times.slice(0, 1);
  const pulses = [0];
  let beat = rotation;
  let missed = 0;
  for (const time of times.slice(1)) {
    const gone = (time - (used.at(-1) ?? 0)) / pulse;
    const one = pattern[beat % pattern.length] ?? 1;
    const two = one + (pattern[(beat + 1) % pattern.length] ?? 1);
    const isOne = Math.abs(gone - one) <= Math.abs(gone - two);
    const step = isOne ? one : two;
    if (Math.abs(gone - step) > reach) continue;
    used.push(time);
    pulses.push((pulses.at(-1) ?? 0) + step);
    beat += isOne ? 1 : 2;
    missed += isOne ? 0 : 1;
  }
  return { times: used, pulses, leftOut: skipped + times.length - used.length, missed, rotation };
}

/** Leaves out one tap after the other while that makes the fit cheaper and half of all taps remain. */
function withoutOutliers(laying: Laying, beat: number, all: number): TapFit | null {
  if (laying.times.length < Math.max(2, all / 2)) return null;
  let fit = fitLaying(laying, beat);
  let rest = laying;
  while (rest.times.length > Math.max(3, all / 2)) {
    const shorter = rest.times.map((_, i) => without(rest, i));
    const fits = shorter.map((candidate) => fitLaying(candidate, beat));
    const cheapest = fits.reduce((least, { cost }, i) => (cost < (fits[least]?.cost ?? Infinity) ? i : least), 0);
    const next = fits[cheapest];
    if (next === undefined || next.cost >= fit.cost) break;
    fit = next;
    rest = shorter[cheapest] ?? rest;
  }
  return fit;
}

const without = (laying: Laying, index: number): Laying => ({
  ...laying,
  times: laying.times.toSpliced(index, 1),
  pulses: laying.pulses.toSpliced(index, 1),
  leftOut: laying.leftOut + 1,
});

/** @param beat mean pulses from tap to tap */
function fitLaying({ times, pulses, leftOut, missed, rotation }: Laying, beat: number): TapFit {
  const { slope, squares, leverage } = leastSquares(pulses, times);
  const prior = PRIOR_TAPS * (USUAL_SCATTER * slope * beat) ** 2;
  const freedom = PRIOR_TAPS + times.length - 2;
  const residuals = (freedom / 2) * Math.log1p(squares / prior);
  const turned = rotation === 0 ? 0 : NOT_FROM_THE_FIRST_BEAT;
  return {
    pulse: slope,
    error: Math.sqrt((prior + squares) / freedom / leverage) / slope,
    freedom,
    used: times.length,
    leftOut,
    missed,
    cost: residuals + leftOut * LEFT_OUT + missed * MISSED + turned,
  };
}
