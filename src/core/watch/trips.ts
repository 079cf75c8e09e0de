/** The round trip between each two disturbances, reckoned from whatever is known before and after. */
import type { Frames } from '../units/index.js';
import { frames } from '../units/index.js';
import type { TripHistory } from './history.js';
import type { TripSource } from './observations.js';

/** The round trip with which a pass was placed. */
export interface BaseTrip {
  readonly roundTrip: Frames;
  readonly how: TripSource;
  readonly sure: boolean;
  /**
   * Capture frame at which it held. Null for a figure that was not measured at one frame of this opening: it is taken to
   * hold from when the input had settled, and gives way to every measurement.
   */
  readonly at: Frames | null;
}

/** A stretch of captured frames in which nothing happened, and the round trip in it. */
export interface Calm {
  /** Infinite at the two ends. */
  readonly from: number;
  readonly to: number;
  readonly roundTrip: Frames;
  readonly how: TripSource;
  readonly sure: boolean;
  readonly within: Frames;
  /** Nothing moved at its end either, as far as could be read: a bar may reach over it. */
  readonly goesOn: boolean;
}

interface Known {
  readonly roundTrip: number;
  readonly how: TripSource;
  readonly sure: boolean;
  /** Measured in this opening: goes before every other figure. */
  readonly here: boolean;
  /** The square of the error that is allowed for. */
  readonly error: number;
}

/** The stretches in order: one more than there are disturbances, some of them empty where disturbances overlap. */
export function calmStretches(base: BaseTrip, history: TripHistory): readonly Calm[] {
  const { disturbances } = history;
  const edges = edgesOf(history);
  const known = references(base, history, edges);
  const forward = carry(known, (i) => disturbances[i - 1] ?? null, 1);
  const backward = carry(known.toReversed(), (i) => disturbances[disturbances.length - i] ?? null, -1).toReversed();
  return edges.map(({ from, to }, i) => {
    const { roundTrip, how, sure, error } = better(forward[i] ?? null, backward[i] ?? null, base);
    const within = frames(Math.ceil(Math.sqrt(error)));
    return { from, to, roundTrip: frames(roundTrip), how, sure, within, goesOn: disturbances[i]?.kind === 'bridged' };
  });
}

function edgesOf({ disturbances }: TripHistory): readonly { readonly from: number; readonly to: number }[] {
  let from = -Infinity;
  const edges = disturbances.map(({ fromFrame, toFrame }) => {
    const edge = { from, to: fromFrame };
    from = Math.max(from, toFrame);
    return edge;
  });
  return [...edges, { from, to: Infinity }];
}

/** What is known in each stretch by itself. A measurement goes before the base: it was made in this opening. */
function references(
  base: BaseTrip,
  { disturbances, measurements }: TripHistory,
  edges: readonly { readonly from: number; readonly to: number }[],
): readonly (Known | null)[] {
  const known: (Known | null)[] = edges.map(() => null);
  const stretchAt = (frame: number): number => edges.findLastIndex(({ from, to }) => from <= frame && frame <= to);
  const settled = disturbances.find(({ kind }) => kind === 'opening')?.toFrame ?? Infinity;
  const at = base.at === null ? edges.findIndex(({ from, to }) => from >= settled && from <= to) : stretchAt(base.at);
  const { roundTrip: placed, how: source, sure } = base;
  const measuredHere = base.at !== null && isMeasured(source);
  if (at >= 0) known[at] = { roundTrip: placed, how: source, sure, here: measuredHere, error: 0 };
  for (const { from, roundTrip, how } of measurements) {
    const index = stretchAt(from);
    const other = known[index];
    // Two that differ by a frame, with nothing between them: neither is believed to the frame.
    const spread = other?.here === true ? Math.abs(other.roundTrip - roundTrip) : 0;
    known[index] = { roundTrip, how, sure: true, here: true, error: (other?.error ?? 0) + spread ** 2 };
  }
  return known;
}

/** Goes from stretch to stretch, over the disturbance that `crossed` says lies before the i-th. */
function carry(
  known: readonly (Known | null)[],
  crossed: (i: number) => TripHistory['disturbances'][number] | null,
  sign: 1 | -1,
): (Known | null)[] {
  let last: Known | null = null;
  return known.map((here, i) => {
    const over = i === 0 ? null : crossed(i);
    if (last !== null && over !== null) {
      last = {
        ...last,
        roundTrip: last.roundTrip + sign * (over.shift ?? 0),
        sure: last.sure && over.shift !== null,
        error: last.error + over.within ** 2,
      };
    }
    last = here ?? last;
    return last;
  });
}

function better(one: Known | null, other: Known | null, base: BaseTrip): Known {
  if (one === null || other === null) {
    return one ?? other ?? { roundTrip: base.roundTrip, how: base.how, sure: false, here: false, error: 0 };
  }
  if (one.sure !== other.sure) return one.sure ? one : other;
  if (one.here !== other.here) return one.here ? one : other;
  const [best, rest] = other.error < one.error ? [other, one] : [one, other];
  const apart = Math.abs(best.roundTrip - rest.roundTrip) - Math.sqrt(best.error) - Math.ceil(Math.sqrt(rest.error));
  return best.here && best.sure && apart > 0 ? { ...best, error: best.error + apart ** 2 } : best;
}

const isMeasured = (how: TripSource): boolean => how === 'cable' || how === 'measured';
