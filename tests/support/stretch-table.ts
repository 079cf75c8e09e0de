/**
 * Stretches as a table of bars, each with the frames of its pulses, added up one by one: slow, plain, and written from the
 * rules alone, so that what the program plays can be checked against it. Lengths are rounded once a steady stretch, lines
 * and pulses of a gradual one each by themselves.
 */
import type { Grid, Tempo } from '../../src/core/meter/grid.js';
import type { Metre } from '../../src/core/meter/metre.js';
import { feltBeats } from '../../src/core/meter/metres.js';
import type { Hold, MeasuredStretch, Stretch } from '../../src/core/meter/stretch.js';
import { bars, frames, QuantityError, type Bars, type Frames, type SampleRate } from '../../src/core/units/index.js';

interface TableBar {
  readonly metre: Metre | null;
  /** Frames from the line to each pulse, and last to the next line; Infinity behind a standstill. */
  readonly offsets: readonly number[];
  /** Frames from the line to where time stands still; null where it does not. */
  readonly stands: number | null;
}

export interface StretchTable extends Grid {
  readonly stretches: readonly Stretch[];
  readonly rate: SampleRate;
  readonly bars: Bars;
  /** Null while time stands still in one of the bars. */
  readonly frames: Frames | null;
  readonly standstill: { readonly bar: Bars; readonly from: Frames } | null;
  pulseFrames(bar: Bars): readonly Frames[];
  /** Null in free time. */
  metreOf(bar: Bars): Metre | null;
}

/** Before line 0 come the bars with which the first measured stretch begins; after the last those of the last steady one. */
export function stretchTable(stretches: readonly Stretch[], rate: SampleRate): StretchTable {
  const list = stretches.flatMap((stretch) => barsOf(stretch, rate));
  const before = plainBar(stretches.find(isMeasured), rate);
  const after = plainBar(
    stretches.findLast((stretch) => stretch.type === 'steady'),
    rate,
  );
  const still = list.findIndex(({ stands }) => stands !== null);
  const lines = [0];
  for (const bar of list) lines.push(lines.at(-1)! + lengthOf(bar));
  const barAt = (bar: number): TableBar => (bar < 0 ? before : (list[bar] ?? after));
  const lineOf = (bar: number): number => {
    if (bar < 0) return bar * lengthOf(before);
    return bar <= list.length ? lines[bar]! : lines.at(-1)! + (bar - list.length) * lengthOf(after);
  };
  const known = (bar: number): Frames => {
    const line = lineOf(bar);
    if (line === Infinity) throw new QuantityError(`Got bar ${bar} when expected one that is not behind a standstill.`);
    return frames(line);
  };
  const barOf = (frame: number): number => {
    if (frame < 0) return Math.floor(frame / lengthOf(before));
    if (frame >= lines.at(-1)!) return list.length + Math.floor((frame - lines.at(-1)!) / lengthOf(after));
    return lines.findLastIndex((line) => line <= frame);
  };
  const standsAt = still < 0 ? null : list[still]!.stands;
  return {
    stretches,
    rate,
    bars: bars(list.length),
    frames: still < 0 ? frames(lines.at(-1)!) : null,
    standstill: standsAt === null ? null : { bar: bars(still), from: frames(lines[still]! + standsAt) },
    lineOf: known,
    placeOf: (frame) => {
      const bar = barOf(frame);
      const frameInBar = frame - lineOf(bar);
      const pulse = barAt(bar)
        .offsets.slice(0, -1)
        .findLastIndex((offset) => offset <= frameInBar);
      return { bar: bars(bar), pulse, frameInBar: frames(frameInBar) };
    },
    beatsOf: (bar) => {
      const { metre, offsets } = barAt(bar);
      const starts = metre === null ? [0] : feltBeats(metre).map(({ start }) => start);
      return [...starts.map((pulse) => offsets[pulse]!), offsets.at(-1)!].filter(Number.isFinite).map(frames);
    },
    pulseFrames: (bar) => {
      const line = known(bar);
      return barAt(bar)
        .offsets.slice(0, -1)
        .filter(Number.isFinite)
        .map((offset) => frames(line + offset));
    },
    metreOf: (bar) => barAt(bar).metre,
  };
}

/** The table of what is known when a press, at a frame, has ended its first standstill. */
export function endedTable(table: StretchTable, at: Frames): StretchTable {
  const { standstill, stretches, rate } = table;
  if (standstill === null) return table;
  const lasted = Math.max(0, at - standstill.from);
  let bar = 0;
  const ended = stretches.map((stretch): Stretch => {
    const first = bar;
    bar += stretch.type === 'free' ? 1 : stretch.bars;
    if (standstill.bar < first || standstill.bar >= bar) return stretch;
    if (stretch.type === 'free') return { ...stretch, frames: frames(Math.max(1, lasted)) };
    const held = stretch.holds
      .filter((hold) => hold.bar === standstill.bar - first && hold.longer.type === 'until-pressed')
      .toSorted((a, b) => a.beat - b.beat)[0];
    const longer = { type: 'frames', frames: frames(lasted) } as const;
    return { ...stretch, holds: stretch.holds.map((hold) => (hold === held ? { ...hold, longer } : hold)) };
  });
  return stretchTable(ended, rate);
}

const isMeasured = (stretch: Stretch): stretch is MeasuredStretch => stretch.type !== 'free';
const lengthOf = ({ offsets }: TableBar): number => offsets.at(-1)!;
const nearest = (value: number): number => Math.floor(value + 0.5);

/** A bar in frames, not rounded: (num / den) / (mark) · 60 · rate / bpm, products first so that halves stay halves. */
const exactBar = ({ num, den }: Metre, { bpm, mark }: Tempo, rate: number): number =>
  (num * mark.den * 60 * rate) / (den * mark.num * bpm);

function plainBar(stretch: MeasuredStretch | undefined, rate: number): TableBar {
  if (stretch === undefined) throw new QuantityError('Got no measured stretch when expected one.');
  const { metre, tempo } = stretch;
  const length = nearest(exactBar(metre, tempo, rate));
  const offsets = Array.from({ length: metre.num + 1 }, (_, j) => nearest((j * length) / metre.num));
  return { metre, offsets, stands: null };
}

function barsOf(stretch: Stretch, rate: number): readonly TableBar[] {
  if (stretch.type === 'free') {
    return [{ metre: null, offsets: [0, stretch.frames ?? Infinity], stands: stretch.frames === null ? 0 : null }];
  }
  return Array.from({ length: stretch.bars }, (_, bar) => {
    const plain = stretch.type === 'steady' ? plainBar(stretch, rate) : gradualBar(stretch, bar, rate);
    return held(
      plain,
      stretch.metre,
      stretch.holds.filter((hold) => hold.bar === bar),
    );
  });
}

/** Time up to x of n bars whose tempo goes in a straight line from v to w: (L · v · n / (w − v)) · ln(v(x) / v). */
function gradualBar(stretch: Stretch & { readonly type: 'gradual' }, bar: number, rate: number): TableBar {
  const { metre, tempo, toBpm, bars: count } = stretch;
  const length = exactBar(metre, tempo, rate);
  const rise = (toBpm - tempo.bpm) / tempo.bpm / count;
  const time = (x: number): number => nearest(length * (rise === 0 ? x : Math.log1p(rise * x) / rise));
  const offsets = Array.from({ length: metre.num + 1 }, (_, j) => time(bar + j / metre.num) - time(bar));
  return { metre, offsets, stands: null };
}

function held(plain: TableBar, metre: Metre, holds: readonly Hold[]): TableBar {
  const beats = feltBeats(metre);
  const offsets = [...plain.offsets];
  let stands: number | null = null;
  for (const { beat, longer } of holds.toSorted((a, b) => a.beat - b.beat)) {
    const { start, pulses } = beats[beat]!;
    const end = start + pulses;
    if (longer.type === 'until-pressed') stands ??= offsets[end]!;
    const written = plain.offsets[end]! - plain.offsets[start]!;
    const more =
      longer.type === 'until-pressed'
        ? Infinity
        : longer.type === 'frames'
          ? longer.frames
          : nearest(longer.beats * written);
    for (let j = end; j < offsets.length; j++) offsets[j]! += more;
  }
  return { metre, offsets, stands };
}
