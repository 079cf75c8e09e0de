/**
 * From stretches to runs of equal bars. A steady stretch is one run; a bar with a hold, each bar of a gradual change of
 * tempo and a bar in free time are runs of one bar.
 *
 * Gradual tempo: bpm(x) = from + (to − from) · x / n at x bars of n, so bar line and pulse x lie at
 * `∫₀ˣ barFrames(bpm) dx = L · ln(1 + d·x) / d`, with L the length of a bar at `from` and d = (to − from) / (from · n)
 * (our own choice of curve: a tempo that changes in a straight line over the bars; the formula is its integral).
 */
import { nearestFrame } from '../units/index.js';
import type { SampleRate } from '../units/index.js';
import { barFrames, exactBarFrames, pulseOffset } from './grid.js';
import type { Metre } from './metre.js';
import { feltBeats } from './metres.js';
import type { GradualStretch, Hold, HoldLength, MeasuredStretch, SteadyStretch, Stretch } from './stretch.js';

/** Equal bars. */
export interface Run {
  /** How many. */
  readonly bars: number;
  /** Null in free time. */
  readonly metre: Metre | null;
  /** Frames from the bar line to each pulse, and last to the next line. Infinity for those behind a standstill. */
  readonly offsets: readonly number[];
}

export function runsOf(stretch: Stretch, rate: SampleRate): readonly Run[] {
  switch (stretch.type) {
    case 'steady':
      return steadyRuns(stretch, rate);
    case 'gradual':
      return gradualRuns(stretch, rate);
    case 'free':
      return [{ bars: 1, metre: null, offsets: [0, stretch.frames ?? Infinity] }];
  }
}

/** One plain bar of the metre and tempo with which a stretch begins. */
export function plainBar({ metre, tempo }: MeasuredStretch, rate: SampleRate): Run {
  const length = barFrames(metre, tempo, rate);
  return { bars: 1, metre, offsets: pulsesAt(metre, (j) => pulseOffset(j, length, metre.num)) };
}

function steadyRuns(stretch: SteadyStretch, rate: SampleRate): readonly Run[] {
  const plain = plainBar(stretch, rate);
  const runs: Run[] = [];
  let bar = 0;
  for (const held of new Set(stretch.holds.map((hold) => hold.bar).toSorted((a, b) => a - b))) {
    if (held > bar) runs.push({ ...plain, bars: held - bar });
    runs.push(withHolds(plain, stretch.metre, holdsIn(stretch, held)));
    bar = held + 1;
  }
  if (stretch.bars > bar) runs.push({ ...plain, bars: stretch.bars - bar });
  return runs;
}

function gradualRuns(stretch: GradualStretch, rate: SampleRate): readonly Run[] {
  const { metre } = stretch;
  return Array.from({ length: stretch.bars }, (_, bar) => {
    const line = nearestFrame(elapsed(stretch, bar, rate));
    const offsets = pulsesAt(metre, (j) => nearestFrame(elapsed(stretch, bar + j / metre.num, rate)) - line);
    return withHolds({ bars: 1, metre, offsets }, metre, holdsIn(stretch, bar));
  });
}

/** Frames from the first line of a gradual stretch to `x` bars into it, not rounded. */
function elapsed({ bars, metre, tempo, toBpm }: GradualStretch, x: number, rate: SampleRate): number {
  const slope = (toBpm - tempo.bpm) / (tempo.bpm * bars);
  return exactBarFrames(metre, tempo, rate) * (slope === 0 ? x : Math.log1p(slope * x) / slope);
}

const pulsesAt = (metre: Metre, offset: (pulse: number) => number): readonly number[] =>
  Array.from({ length: metre.num + 1 }, (_, j) => offset(j));

/** In order of their beats. */
const holdsIn = (stretch: MeasuredStretch, bar: number): readonly Hold[] =>
  stretch.holds.filter((hold) => hold.bar === bar).toSorted((a, b) => a.beat - b.beat);

/** Everything after a held beat comes later by the length of the hold, or by Infinity. */
function withHolds(run: Run, metre: Metre, holds: readonly Hold[]): Run {
  const beats = feltBeats(metre);
  const offsets = [...run.offsets];
  for (const { beat, longer } of holds) {
    const { start = 0, pulses = 0 } = beats[beat] ?? {};
    const end = start + pulses;
    const written = (run.offsets[end] ?? 0) - (run.offsets[start] ?? 0);
    const extra = holdFrames(longer, written);
    for (let j = end; j < offsets.length; j++) offsets[j] = (offsets[j] ?? 0) + extra;
  }
  return { ...run, offsets };
}

function holdFrames(longer: HoldLength, beatFrames: number): number {
  switch (longer.type) {
    case 'beats':
      return nearestFrame(longer.beats * beatFrames);
    case 'frames':
      return longer.frames;
    case 'until-pressed':
      return Infinity;
  }
}
