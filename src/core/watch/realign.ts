/** A repair by hand: the player moves a pass from a bar on. */
import type { Bars, Frames } from '../units/index.js';
import { frames } from '../units/index.js';
import type { BarTrip } from './alignments.js';

/** Either how far the bars from there on lie too late, or the round trip that held there. */
export type Repair = { readonly shift: Frames } | { readonly roundTrip: Frames };

/** A programmer's mistake: states what came and what was expected. */
export class RealignError extends RangeError {
  override readonly name = 'RealignError';
}

/**
 * Moves everything from `bar` on by the same number of frames; what comes before stays. The figure is then the player's
 * (`stated`), and sure; later places stay as far apart as they were.
 * @throws {RealignError} for a bar below 0 or a list that does not begin with bar 0.
 */
export function realignFrom(alignments: readonly BarTrip[], bar: Bars, repair: Repair): readonly BarTrip[] {
  const held = alignments.findLast(({ fromBar }) => fromBar <= bar);
  if (held === undefined || alignments[0]?.fromBar !== 0) {
    throw new RealignError(`Got bar ${bar} when expected one of a pass that is aligned from bar 0 on.`);
  }
  const by = 'shift' in repair ? repair.shift : repair.roundTrip - held.roundTrip;
  const moved = (old: BarTrip): BarTrip => ({
    ...old,
    roundTrip: frames(old.roundTrip + by),
    how: 'stated',
    sure: true,
    within: frames(0),
  });
  return [
    ...alignments.filter(({ fromBar }) => fromBar < bar),
    { ...moved(held), fromBar: bar },
    ...alignments.filter(({ fromBar }) => fromBar > bar).map(moved),
  ];
}
