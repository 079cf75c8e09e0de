/**
 * The straight line of tap time on pulse that fits a series of taps best. Several layings of the taps on a pattern of beats
 * (tap-laying.ts) compete by cost, which is a negative log likelihood up to a constant: the residuals under Student's
 * distribution (normal scatter of unknown size, known beforehand to be about 4 % of the interval), plus the prices of taps
 * left out or missing. A tap is left out only where that is cheaper than believing it.
 */
import { layTaps, LEFT_OUT, MISSED, type Laying } from './tap-laying.js';
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
  readonly cost: number;
}

/** Usual scatter of taps as a share of their interval, 2 to 4 % and more (Repp 2005, Repp and Su 2013; from memory). */
const USUAL_SCATTER = 0.04;
/** How many taps that prior knowledge is worth. */
const PRIOR_TAPS = 4;
/** Odds of two to one that a series begins on the first beat of the pattern. */
const NOT_FROM_THE_FIRST_BEAT = Math.LN2;
/** Intervals from which the pulse is guessed, the newest. */
const GUESSES = 8;
/** Guesses closer than this share of each other lead to the same laying. */
const SAME_GUESS = 0.05;

/**
 * The cheapest fit of at least two taps in order of time; null where no laying believes half of them.
 * @param times milliseconds, strictly rising
 * @param pattern pulses from tap to tap, over and over
 */
export function fitTaps(times: readonly number[], pattern: readonly number[]): TapFit | null {
  let best: TapFit | null = null;
  for (const laying of layings(times, pattern)) {
    const fit = withoutOutliers(laying, mean(pattern), times.length);
    if (fit !== null && (best === null || fit.cost < best.cost)) best = fit;
  }
  return best;
}

/** Every different laying that some guess of the pulse gives. */
function layings(times: readonly number[], pattern: readonly number[]): Iterable<Laying> {
  const found = new Map<string, Laying>();
  const intervals = times.slice(1).map((time, i) => time - (times[i] ?? 0));
  const guesses: number[] = [];
  for (const gap of intervals.slice(-GUESSES)) {
    for (const beat of new Set(pattern)) {
      const guess = gap / beat;
      if (!guesses.some((known) => Math.abs(known / guess - 1) < SAME_GUESS)) guesses.push(guess);
    }
  }
  for (const guess of guesses) {
    const laying = layTaps(times, pattern, guess);
    found.set(`${laying.firstBeat}:${laying.times.join()}:${laying.pulses.join()}`, laying);
  }
  return found.values();
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
function fitLaying({ times, pulses, leftOut, missed, firstBeat }: Laying, beat: number): TapFit {
  const { slope, squares, leverage } = leastSquares(pulses, times);
  const prior = PRIOR_TAPS * (USUAL_SCATTER * slope * beat) ** 2;
  const freedom = PRIOR_TAPS + times.length - 2;
  const residuals = (freedom / 2) * Math.log1p(squares / prior);
  const turned = firstBeat === 0 ? 0 : NOT_FROM_THE_FIRST_BEAT;
  return {
    pulse: slope,
    error: Math.sqrt((prior + squares) / freedom / leverage) / slope,
    freedom,
    used: times.length,
    leftOut,
    cost: residuals + leftOut * LEFT_OUT + missed * MISSED + turned,
  };
}
