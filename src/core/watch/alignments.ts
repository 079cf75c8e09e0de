/** What the history of the round trip means for a pass, bar by bar. */
import type { Bars, Frames } from '../units/index.js';
import { bars, frames } from '../units/index.js';
import type { Disturbance, DisturbanceKind, ShiftSource, TripHistory } from './history.js';
import type { TripSource } from './observations.js';
import { type BaseTrip, type Calm, calmStretches } from './trips.js';

/** From a bar of the pass on, this round trip held. */
export interface BarTrip {
  readonly fromBar: Bars;
  readonly roundTrip: Frames;
  readonly how: TripSource;
  /** False where something happened that may have moved the audio, and nobody can say how far. */
  readonly sure: boolean;
  /** Where it is sure, the round trip is good to so many frames either way; 0 is to the frame. */
  readonly within: Frames;
}

/** A place in a pass, to be explained where it stands. */
export interface TripMark {
  /** The bar in which it began; 0 for what happened before the pass and leaves it unsure. */
  readonly bar: Bars;
  /** The last bar that it touches. */
  readonly lastBar: Bars;
  readonly duringPass: boolean;
  readonly kind: DisturbanceKind;
  /** By so much the audio lies later from there on, less than 0 for earlier; null while that is not known. */
  readonly shift: Frames | null;
  readonly how: ShiftSource;
  readonly within: Frames;
}

export interface PassAlignments {
  /** In order of bars; the first is bar 0. Neighbours differ. */
  readonly alignments: readonly BarTrip[];
  /** In order of bars. */
  readonly marks: readonly TripMark[];
  /**
   * A measurement before the pass and one after it agree with all that was seen between them. Without that, what leaves no
   * sign may have been missed: frames dropped by an input that has nothing to be compared with.
   */
  readonly proved: boolean;
}

/** What is sized where it is seen, so that a measurement after it can contradict it. */
const SIZED: ReadonlySet<DisturbanceKind> = new Set([
  'output-gap',
  'bridged',
  'silence-inserted',
  'input-shifted',
  'calls-missed',
]);

/**
 * @param lines capture frames of the pass's bar lines where `base` puts them, one more than it has bars.
 * A bar is sure where all of it lies in one calm stretch whose round trip is known. Where something happened inside a bar,
 * that bar is unsure from its line on, and the next one is repaired.
 */
export function alignmentsOf(lines: readonly Frames[], base: BaseTrip, history: TripHistory): PassAlignments {
  const stretches = calmStretches(base, history);
  const mix = lines.map((line) => line - base.roundTrip);
  const alignments: BarTrip[] = [];
  const stretchOfBar: number[] = [];
  for (let bar = 0; bar + 1 < mix.length; bar++) {
    const { index, whole, within } = findStretch(stretches, mix[bar] ?? 0, mix[bar + 1] ?? 0);
    const calm = stretches[index];
    if (calm === undefined) continue;
    stretchOfBar.push(index);
    const { roundTrip, how } = calm;
    const next: BarTrip = { fromBar: bars(bar), roundTrip, how, sure: calm.sure && whole, within };
    const last = alignments.at(-1);
    if (last === undefined || !same(last, next)) alignments.push(next);
  }
  return {
    alignments,
    marks: marksOf(mix, stretchOfBar, stretches, history),
    proved: isProved(lines, base, history),
  };
}

/** Places of the pass are good to a second here: measurements are farther away, or the pass is not proved. */
function isProved(
  lines: readonly Frames[],
  { sure }: BaseTrip,
  { disturbances, measurements, sampleRate }: TripHistory,
): boolean {
  const [start, end] = [lines[0], lines.at(-1)];
  if (!sure || start === undefined || end === undefined) return false;
  const before = measurements.findLast(({ to }) => to <= start);
  const after = measurements.find(({ from }) => from >= end + sampleRate);
  if (before === undefined || after === undefined) return false;
  return disturbances
    .filter(({ fromFrame, toFrame }) => toFrame > before.to && fromFrame < after.from)
    .every(({ kind }) => SIZED.has(kind));
}

/**
 * The stretch in which a bar lies whole; else the one in which it begins. A bar is whole too where it reaches over pauses
 * that moved nothing, and is then as good as the worst stretch of them.
 */
function findStretch(
  stretches: readonly Calm[],
  from: number,
  to: number,
): { readonly index: number; readonly whole: boolean; readonly within: Frames } {
  let begins = 0;
  for (let index = 0; index < stretches.length; index++) {
    const calm = stretches[index];
    if (calm === undefined || from + calm.roundTrip < calm.from) continue;
    begins = index;
    let within: number = calm.within;
    for (let over = index; over < stretches.length; over++) {
      const next = stretches[over];
      if (next === undefined || !next.sure || next.roundTrip !== calm.roundTrip) break;
      within = Math.max(within, next.within);
      if (to + calm.roundTrip <= next.to) return { index, whole: true, within: frames(within) };
      if (!next.goesOn) break;
    }
  }
  return { index: begins, whole: false, within: stretches[begins]?.within ?? frames(0) };
}

function marksOf(
  mix: readonly number[],
  stretchOfBar: readonly number[],
  stretches: readonly Calm[],
  { disturbances }: TripHistory,
): readonly TripMark[] {
  const lines = mix.map(
    (line, bar) => line + (stretches[stretchOfBar[bar] ?? stretchOfBar.at(-1) ?? 0]?.roundTrip ?? 0),
  );
  const [start, end] = [lines[0] ?? 0, lines.at(-1) ?? 0];
  const barOf = (frame: number): Bars =>
    bars(
      Math.min(
        lines.length - 2,
        Math.max(
          0,
          lines.findLastIndex((line) => line <= frame),
        ),
      ),
    );
  const first = stretchOfBar[0] ?? 0;
  // Where no round trip is known for certain, the settling takes nothing away: all of the pass is merely not measured.
  const isUnmeasured = !stretches.some(({ sure }) => sure);
  const marks = disturbances
    .filter(({ fromFrame, toFrame }) => toFrame > start && fromFrame < end)
    .filter(({ kind }) => !(isUnmeasured && kind === 'opening'))
    .map((each) => markOf(each, barOf(each.fromFrame), barOf(each.toFrame - 1), true));
  if (stretches[first]?.sure === true) return marks;
  // What happened before the pass is to blame only where something was known for certain before that.
  const known = stretches.findIndex(({ sure }) => sure);
  const cause = disturbances.findLast(
    ({ toFrame, shift }, i) => known >= 0 && known <= i && toFrame <= start && shift === null,
  );
  return cause === undefined ? marks : [markOf(cause, bars(0), bars(0), false), ...marks];
}

function markOf({ kind, shift, how, within }: Disturbance, bar: Bars, lastBar: Bars, duringPass: boolean): TripMark {
  return { bar, lastBar, duringPass, kind, shift, how, within };
}

function same(a: BarTrip, b: BarTrip): boolean {
  return a.roundTrip === b.roundTrip && a.how === b.how && a.sure === b.sure && a.within === b.within;
}
