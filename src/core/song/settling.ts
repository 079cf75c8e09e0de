/**
 * Stretches that wait for a press, once it is known how long: what the press made of them when layers were recorded over
 * them is their length from then on, since the layers lie beside it. Pure.
 */
import type { Hold } from '../meter/stretch.js';
import { frames } from '../units/index.js';
import { equalData } from './equal-data.js';
import type { SectionStretch } from './section-stretch.js';

/** How long what waits for a press lasted, in frames; null where that is not known yet. */
export interface Lasted {
  /** A bar of the section in free time. */
  free(bar: number): number | null;
  /** How much longer than written a felt beat of a bar of the section was. */
  hold(bar: number, beat: number): number | null;
}

/** The stretches with every length that is known; the very same where there is none to know. */
export function settled(stretches: readonly SectionStretch[], lasted: Lasted): readonly SectionStretch[] {
  const known = stretches.map((stretch) => settledOne(stretch, lasted));
  return equalData(known, stretches) ? stretches : known;
}

/** Whether nothing is new about stretches but how long what waited for a press was. */
export const onlySettles = (before: readonly SectionStretch[], after: readonly SectionStretch[]): boolean =>
  before.length === after.length && after.every((stretch, index) => opens(stretch, before[index]));

function settledOne(stretch: SectionStretch, lasted: Lasted): SectionStretch {
  if (stretch.type !== 'free') {
    return { ...stretch, holds: stretch.holds.map((hold) => settledHold(hold, stretch.fromBar, lasted)) };
  }
  const length = stretch.frames === null ? lasted.free(stretch.fromBar) : null;
  return length === null ? stretch : { ...stretch, frames: frames(length) };
}

function settledHold(hold: Hold, fromBar: number, lasted: Lasted): Hold {
  const length = hold.longer.type === 'until-pressed' ? lasted.hold(fromBar + hold.bar, hold.beat) : null;
  return length === null ? hold : { ...hold, longer: { type: 'frames', frames: frames(length) } };
}

/** Whether a stretch with its lengths open again, where they were, is what it was before. */
function opens(after: SectionStretch, before: SectionStretch | undefined): boolean {
  if (before === undefined) return false;
  if (after.type === 'free' || before.type === 'free') {
    const isOpen = before.type === 'free' && before.frames === null;
    return equalData(isOpen ? { ...after, frames: null } : after, before);
  }
  const holds = after.holds.map((hold, index) =>
    before.holds[index]?.longer.type === 'until-pressed' ? { ...hold, longer: before.holds[index].longer } : hold,
  );
  return equalData({ ...after, holds }, before);
}
