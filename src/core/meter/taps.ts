/**
 * Tempo from taps. Every tap counts, by regression of tap time on beat: with taps scattered by σ the tempo's standard
 * deviation is `bpm²/60 · σ · √(12 / (n(n² − 1)))`, against `bpm²/60 · σ · √2 / (n − 1)` from the first and last tap alone.
 *
 * **Pause or missed tap?** A gap of more than 2 s starts anew, whatever came before: beyond that the pulse is lost (tapping
 * reviews: above about 1.8 to 2 s), and a tap bridged wrongly spoils the reading while a new start costs two taps. So does a
 * gap of more than 2.5 running intervals. A gap within both is part of the series: about two beats long it is a missed tap.
 */
import { bpm, type Bpm, type Milliseconds } from '../units/index.js';
import type { Metre, NoteValue } from './metre.js';
import { feltBeats, markChoices } from './metres.js';
import { fitTaps, type TapFit } from './tap-fit.js';
import { mean, normalWithin, studentReach } from './tap-statistics.js';
import { tempoPrior } from './tempo-prior.js';

/** The taps since the last pause, at most the newest 20. */
export interface Taps {
  readonly times: readonly Milliseconds[];
}

export interface TapReading {
  /** By the mark. */
  readonly bpm: Bpm;
  /** The same taps as twice and as half as long notes: much music is felt far from the usual tempo. */
  readonly half: Bpm;
  readonly double: Bpm;
  /** What one tap was. */
  readonly tapped: TappedNote;
  /** The tempo if a tap was the other kind; null where the taps rule that out, or there is no other kind. */
  readonly other: Bpm | null;
  /** Half the width of the 95 % interval, in beats a minute. */
  readonly spread: number;
  /** Probability, 0 to 1, that the tempo tapped is within 1.5 % of `bpm`. What kind of note it was is not part of it. */
  readonly confidence: number;
  /** Taps behind the reading, and those left out of it because they fit nowhere. */
  readonly used: number;
  readonly leftOut: number;
}

export type TappedNote = 'beats' | 'pulses';

export const NO_TAPS: Taps = { times: [] };

/** Enough for ±1 in 95 % at 160 a minute with taps 30 ms off; more would only follow a change of mind late. */
const MOST_TAPS = 20;
/** Milliseconds after which the pulse is lost. */
const LOST_AFTER = 2000;
const PAUSE_INTERVALS = 2.5;
/** Sooner than this, in milliseconds, a second contact is a bounce (own choice; nobody taps 1000 a minute). */
const BOUNCE = 60;
/** Intervals that make the running one, and how much longer than their median one may be before it is a missed tap. */
const RUNNING = 8;
const MISSED_FROM = 1.75;
/** Readings whose costs are closer than this leave a choice to the prior: odds of 20 to 1. */
const AMBIGUOUS = 3;
/** Best threshold for a change of tempo, as a share (Drake and Botte, Perception and Psychophysics 1993). */
const JUST_NOTICEABLE = 0.015;

/**
 * Adds a tap. It starts anew after a pause (see the header), and where time went backwards (another clock); a bounce is
 * ignored.
 */
export function addTap(taps: Taps, time: Milliseconds): Taps {
  const last = taps.times.at(-1);
  if (last === undefined) return { times: [time] };
  const gap = time - last;
  if (gap >= 0 && gap < BOUNCE) return taps;
  const isPause = gap < 0 || gap > LOST_AFTER || gap > PAUSE_INTERVALS * runningInterval(taps.times);
  return { times: isPause ? [time] : [...taps.times.slice(1 - MOST_TAPS), time] };
}

/**
 * The tempo of a series of at least two taps; null where there are fewer or they fit no tempo. A tap is a felt beat; where those are longer than a pulse (6/8 in
 * two, 7/8, a waltz in one) it may also be a pulse. Uneven beats tell the two apart; even ones can't, and a few taps may
 * not: then the felt tempo nearer to 120 is taken (`tempoPrior`) and the other offered.
 */
export function readTaps(taps: Taps, metre: Metre, mark: NoteValue = markChoices(metre)[0]): TapReading | null {
  if (taps.times.length < 2) return null;
  const beats = feltBeats(metre).map(({ pulses }) => pulses);
  const [chosen, other] = choose(candidates(taps.times, beats), mean(beats));
  if (chosen === undefined) return null;

  const markPulses = (mark.num * metre.den) / mark.den;
  const value = tempoOf(chosen.fit, markPulses);
  return {
    bpm: value,
    half: bpm(value / 2),
    double: bpm(value * 2),
    tapped: chosen.tapped,
    other: other === undefined ? null : tempoOf(other.fit, markPulses),
    spread: studentReach(chosen.fit.freedom) * chosen.fit.error * value,
    confidence: normalWithin(JUST_NOTICEABLE / chosen.fit.error),
    used: chosen.fit.used,
    leftOut: chosen.fit.leftOut,
  };
}

interface Candidate {
  readonly tapped: TappedNote;
  readonly fit: TapFit;
}

/** One for each kind of note that a tap may have been. */
function candidates(times: readonly Milliseconds[], beats: readonly number[]): readonly Candidate[] {
  const even = beats.every((beat) => beat === beats[0]);
  const kinds: [TappedNote, readonly number[]][] = [['beats', even ? beats.slice(0, 1) : beats]];
  if (beats.some((beat) => beat > 1)) kinds.push(['pulses', [1]]);
  return kinds.flatMap(([tapped, pattern]) => {
    const fit = fitTaps(times, pattern);
    return fit === null ? [] : [{ tapped, fit }];
  });
}

/** The candidates that the taps don't rule out, the chosen one first. */
function choose(found: readonly Candidate[], beatPulses: number): readonly Candidate[] {
  const least = Math.min(...found.map(({ fit }) => fit.cost));
  const prior = ({ fit }: Candidate): number => tempoPrior(tempoOf(fit, beatPulses));
  return found.filter(({ fit }) => fit.cost < least + AMBIGUOUS).toSorted((a, b) => prior(b) - prior(a));
}

/** How many notes of so many pulses there are in a minute. */
const tempoOf = ({ pulse }: TapFit, pulses: number): Bpm => bpm(60_000 / (pulse * pulses));

/** The mean of the newest intervals without those a tap is missing from: longer than 1.75 of the (lower) median. */
function runningInterval(times: readonly Milliseconds[]): number {
  const newest = times.slice(-RUNNING - 1);
  const gaps = newest.slice(1).map((time, i) => time - (newest[i] ?? 0));
  const median = gaps.toSorted((a, b) => a - b)[Math.floor((gaps.length - 1) / 2)];
  return median === undefined ? Infinity : mean(gaps.filter((gap) => gap <= MISSED_FROM * median));
}
