/**
 * A loop that was played without a tempo, read as whole bars: so many bars in this metre are so fast. What is likely is
 * what is felt as a usual tempo, what was tapped, and a usual number of bars.
 *
 * A bar is rounded to whole frames once, as everywhere (core/meter/grid): the body becomes `bars × barFrames` and differs
 * from the loop as played by at most `bars / 2` frames, 0.04 ms for four bars at 48 kHz.
 */
import type { Metre, NoteValue } from '../meter/metre.js';
import { feltBeats } from '../meter/metres.js';
import { soundingBpm } from '../meter/grid.js';
import { tempoPrior } from '../meter/tempo-prior.js';
import type { Bars, Bpm, Frames, SampleRate } from '../units/index.js';
import { bars, bpm, frames, nearestFrame } from '../units/index.js';

export interface ReadingTerms {
  readonly metre: Metre;
  /** The note value that the tempo counts. */
  readonly mark: NoteValue;
  readonly rate: SampleRate;
  /** Tempi, by the mark, that a song may have. */
  readonly slowest: Bpm;
  readonly fastest: Bpm;
  /** What was tapped for this song, if anything: by the mark, with half the width of its 95 % interval. */
  readonly taps: { readonly bpm: Bpm; readonly spread: number } | null;
}

export interface Reading {
  /** The loop as it was played. */
  readonly played: Frames;
  readonly bars: Bars;
  readonly barFrames: Frames;
  /** `bars × barFrames`. */
  readonly bodyFrames: Frames;
  /** By the mark; `barFrames` is what this tempo is rounded to. */
  readonly bpm: Bpm;
}

/** Null where there is no such reading: out of range, or no whole number of bars. */
export interface Neighbours {
  readonly fewer: Reading | null;
  readonly more: Reading | null;
  readonly half: Reading | null;
  readonly double: Reading | null;
}

/** As long as a section can be. */
const MOST_BARS = 64;
/**
 * How usual a number of bars is (phrases are mostly of 4 or 8 bars: common practice, no source; the weights are our own
 * choice): powers of two, other multiples of four, other even numbers, odd ones.
 */
const USUAL = { power: 1, four: 0.8, even: 0.5, odd: 0.35 } as const;
/**
 * Own choices: who tapped and then plays without a click drifts by about this share; half and double are heard alike; and
 * some have tapped something else, so that what fits nothing says nothing.
 */
const DRIFT = 0.03;
const OCTAVE_WEIGHT = 0.1;
const ELSE_WEIGHT = 0.01;
/** Half the width of a 95 % interval in standard deviations. */
const REACH_95 = 1.96;

/** All readings of a loop, the likeliest first. Empty for one too short or too long for any bar within the terms. */
export function readingsOf(played: Frames, terms: ReadingTerms): readonly Reading[] {
  const found: { readonly reading: Reading; readonly weight: number }[] = [];
  for (let count = 1; count <= MOST_BARS; count++) {
    const reading = readingAs(played, count, terms);
    if (reading !== null) found.push({ reading, weight: weightOf(reading, terms) });
  }
  return found.sort((a, b) => b.weight - a.weight).map(({ reading }) => reading);
}

/** A bar fewer or more, half and double time: the same loop, read otherwise. */
export function neighbours({ played, bars: count }: Reading, terms: ReadingTerms): Neighbours {
  return {
    fewer: readingAs(played, count - 1, terms),
    more: readingAs(played, count + 1, terms),
    half: readingAs(played, count / 2, terms),
    double: readingAs(played, count * 2, terms),
  };
}

/** The loop as so many bars; null where that is out of range or no whole number. */
export function readingAs(played: Frames, count: number, terms: ReadingTerms): Reading | null {
  const { metre, mark, rate, slowest, fastest } = terms;
  if (!Number.isInteger(count) || count < 1 || count > MOST_BARS) return null;
  const barFrames = nearestFrame(played / count);
  if (barFrames < metre.num) return null;
  const tempo = soundingBpm(barFrames, metre, mark, rate);
  if (tempo < slowest || tempo > fastest) return null;
  return { played, bars: bars(count), barFrames, bodyFrames: frames(count * barFrames), bpm: tempo };
}

/** Only ratios mean something. */
function weightOf({ bars: count, barFrames, bpm: tempo }: Reading, { metre, rate, taps }: ReadingTerms): number {
  const felt = bpm((feltBeats(metre).length * 60 * rate) / barFrames);
  return tempoPrior(felt) * usual(count) * (taps === null ? 1 : likenessToTaps(tempo, taps));
}

function usual(count: number): number {
  if (Number.isInteger(Math.log2(count))) return USUAL.power;
  if (count % 4 === 0) return USUAL.four;
  return count % 2 === 0 ? USUAL.even : USUAL.odd;
}

/** Normal in the tempo's logarithm, with smaller hills at half and double, over a plain. */
function likenessToTaps(tempo: Bpm, taps: { readonly bpm: Bpm; readonly spread: number }): number {
  const deviation = Math.hypot(DRIFT, taps.spread / (REACH_95 * taps.bpm));
  const hill = (centre: number): number => Math.exp(-((Math.log(tempo / centre) / deviation) ** 2) / 2);
  return hill(taps.bpm) + OCTAVE_WEIGHT * (hill(taps.bpm / 2) + hill(taps.bpm * 2)) + ELSE_WEIGHT;
}
