/**
 * Stretches of bars to the flat array that crosses to the audio thread. Pure. Bars of one length and metre are one row,
 * so a steady song of any length costs two; a bar of a rit., a bar with a fermata and a bar in free time a row each.
 *
 * Where time stands still until a press, the array says STANDSTILL frames, so that everything behind has a place that is
 * never reached; `endStandstill` (stretch-changes.ts) puts in what it turned out to be.
 */
import type { Metre } from '../meter/metre.js';
import { feltBeats } from '../meter/metres.js';
import { plainBar, runsOf, type Run } from '../meter/stretch-runs.js';
import { checkStretches, type MeasuredStretch, type SteadyStretch, type Stretch } from '../meter/stretch.js';
import type { SampleRate } from '../units/index.js';
import { bars, frames, QuantityError } from '../units/index.js';
import { STANDSTILL, STRETCH_FIELDS, STRETCH_HEAD_FIELDS, Stretch as Column, StretchHead } from './program.js';

/** Bars of one length and metre. */
export interface EqualBars {
  readonly bars: number;
  /** As in Stretch. */
  readonly beats: number;
  readonly groups: number;
  /** Frames from the line to each pulse, and last to the next line. */
  readonly offsets: readonly number[];
}

export interface BarLayout {
  /** The bar that goes on backwards before the first. */
  readonly before: EqualBars;
  readonly firstBar: number;
  /** Song position of the first bar's line. */
  readonly firstFrame: number;
  /** In order; the bars of the last one go on for ever unless there is a loop. */
  readonly runs: readonly EqualBars[];
  /** The last so many bars come again and again; 0 for none. */
  readonly loopBars: number;
  readonly endBar: number;
}

/**
 * A program's bar lines. As a loop, bar k + n · (all bars) lies at line(k) + n · (all frames), for ever; else the bars
 * after the last go on in the last steady stretch, and nothing clicks in them. Bars before line 0 are those of the
 * beginning of the first measured stretch, in both cases: a count-in.
 *
 * A standstill inside a loop is one length, whatever the round: what the press made of it when it came first.
 * @param counted what a list of free time alone is counted in with.
 * @throws {QuantityError} for a list that `checkStretches` refuses; a loop need not hold a steady stretch, only one that
 * is measured, or none where `counted` is given.
 */
export function programStretches(
  stretches: readonly Stretch[],
  rate: SampleRate,
  loop: boolean,
  counted: MeasuredStretch | null = null,
): Float64Array<ArrayBuffer> {
  const first = stretches.find((stretch): stretch is MeasuredStretch => stretch.type !== 'free') ?? counted;
  const checked = checkStretches(loop && first !== null ? [...stretches, steadied(first)] : stretches, rate);
  if (!checked.ok || first === null) {
    throw new QuantityError(
      `Got stretches refused as ${checked.ok ? 'unmeasured' : checked.reason} when expected good ones.`,
    );
  }
  const runs = stretches.map(standing).flatMap((stretch) => runsOf(stretch, rate).map(equalBars));
  const total = barsOf(runs);
  const top = { before: equalBars(plainBar(first, rate)), firstBar: 0, firstFrame: 0 };
  if (loop) return layOutBars({ ...top, runs, loopBars: total, endBar: Infinity });
  const steady = stretches.findLast((stretch): stretch is SteadyStretch => stretch.type === 'steady');
  const after = steady === undefined ? [] : [equalBars(plainBar(steady, rate))];
  return layOutBars({ ...top, runs: [...runs, ...after], loopBars: 0, endBar: total });
}

/** The same bars give the same array, however they were put together. */
export function layOutBars(layout: BarLayout): Float64Array<ArrayBuffer> {
  const { before, runs, loopBars } = shortest(layout);
  const all = [before, ...runs];
  const pulses = STRETCH_HEAD_FIELDS + all.length * STRETCH_FIELDS;
  const array = new Float64Array(pulses + all.reduce((sum, run) => sum + run.offsets.length, 0));
  let bar = layout.firstBar;
  let frame = layout.firstFrame;
  let offsetsAt = pulses;
  all.forEach((run, index) => {
    const row = array.subarray(STRETCH_HEAD_FIELDS + index * STRETCH_FIELDS);
    row[Column.start] = frame;
    row[Column.startBar] = bar;
    row[Column.barFrames] = barFramesOf(run);
    row[Column.pulses] = run.offsets.length - 1;
    row[Column.beats] = run.beats;
    row[Column.groups] = run.groups;
    row[Column.offsetsAt] = offsetsAt;
    array.set(run.offsets, offsetsAt);
    offsetsAt += run.offsets.length;
    if (index === 0) return;
    bar += run.bars;
    frame += run.bars * barFramesOf(run);
  });
  array[StretchHead.rows] = all.length;
  array[StretchHead.loopBar] = loopBars === 0 ? 0 : bar - loopBars;
  array[StretchHead.loopBars] = loopBars;
  array[StretchHead.loopFrames] = framesOfLast(runs, loopBars);
  array[StretchHead.endBar] = layout.endBar;
  return array;
}

/** Equal neighbours are one row; a row that goes on for ever counts one bar, and so does a loop of nothing but equal bars. */
function shortest({ before, runs, loopBars }: BarLayout): Pick<BarLayout, 'before' | 'runs' | 'loopBars'> {
  const rows = merged(runs);
  const [only] = rows;
  const one = { before: { ...before, bars: 1 }, loopBars: Math.min(loopBars, 1) };
  if (only !== undefined && rows.length === 1) return { ...one, runs: [{ ...only, bars: 1 }] };
  return { ...one, runs: rows, loopBars };
}

/** Equal neighbours as one. Bars in which time stands still stay apart: each will be ended by itself. */
function merged(runs: readonly EqualBars[]): readonly EqualBars[] {
  const out: EqualBars[] = [];
  for (const run of runs) {
    const last = out.at(-1);
    if (last !== undefined && barFramesOf(run) < STANDSTILL && areEqual(last, run)) {
      out[out.length - 1] = { ...last, bars: last.bars + run.bars };
    } else out.push(run);
  }
  return out;
}

const barsOf = (runs: readonly EqualBars[]): number => runs.reduce((sum, run) => sum + run.bars, 0);

const barFramesOf = (run: EqualBars): number => run.offsets.at(-1) ?? 0;

function framesOfLast(runs: readonly EqualBars[], count: number): number {
  let left = count;
  let sum = 0;
  for (const run of runs.toReversed()) {
    const taken = Math.min(left, run.bars);
    sum += taken * barFramesOf(run);
    left -= taken;
  }
  return sum;
}

const areEqual = (a: EqualBars, b: EqualBars): boolean =>
  a.beats === b.beats &&
  a.groups === b.groups &&
  a.offsets.length === b.offsets.length &&
  a.offsets.every((offset, i) => offset === b.offsets[i]);

function equalBars({ bars: count, metre, offsets }: Run): EqualBars {
  return { bars: count, beats: maskOf(metre, () => true), groups: maskOf(metre, isGroup), offsets };
}

type IsMarked = (beat: ReturnType<typeof feltBeats>[number]) => boolean;

const isGroup: IsMarked = ({ accent }) => accent === 'group';

const maskOf = (metre: Metre | null, isMarked: IsMarked): number =>
  metre === null ? 0 : feltBeats(metre).reduce((mask, beat) => mask + (isMarked(beat) ? 2 ** beat.start : 0), 0);

/** What stands still until a press stands still for STANDSTILL frames. */
function standing(stretch: Stretch): Stretch {
  if (stretch.type === 'free') return stretch.frames === null ? { ...stretch, frames: frames(STANDSTILL) } : stretch;
  const longer = { type: 'frames', frames: frames(STANDSTILL) } as const;
  const holds = stretch.holds.map((hold) => (hold.longer.type === 'until-pressed' ? { ...hold, longer } : hold));
  return { ...stretch, holds };
}

const steadied = ({ metre, tempo }: MeasuredStretch): SteadyStretch => ({
  type: 'steady',
  bars: bars(1),
  metre,
  tempo,
  holds: [],
});
