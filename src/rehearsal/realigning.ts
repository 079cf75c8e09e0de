/** Takes that lie elsewhere than was known, as edits: moved by the player, or left as they are. */
import type { TripMark } from '../core/watch/alignments.js';
import { realignFrom } from '../core/watch/realign.js';
import type { Edit } from '../core/song/edits.js';
import type { SectionId } from '../core/song/ids.js';
import { takeInUse } from '../core/song/lookups.js';
import type { Layer, Take } from '../core/song/song.js';
import type { Bars, Frames } from '../core/units/index.js';
import { bars, frames } from '../core/units/index.js';

type Realign = Extract<Edit, { type: 'realign' }>;

/** From a bar of the section on, the take in use lies so many frames too late (below 0: too early). Null: no such bar. */
export function movedByHand(layer: Layer, section: SectionId, bar: Bars, shift: Frames): Realign | null {
  const take = takeInUse(layer);
  const from = barOfTake(take, bar);
  if (from === null) return null;
  const known = take.alignment.map((each) => ({ ...each, within: each.within ?? frames(0) }));
  const alignment = realignFrom(known, from, { shift }).map(({ fromBar, roundTrip, how, sure }) => ({
    fromBar,
    roundTrip,
    how,
    sure,
  }));
  const marks = (take.marks ?? []).filter((mark) => mark.bar !== from);
  return { type: 'realign', section, layer: layer.id, take: take.id, alignment, marks };
}

/** The player leaves what is marked as it is, and wants to hear no more of it. `mark.bar` counts from the section's first. */
export function markLeft(layer: Layer, section: SectionId, mark: TripMark): Realign | null {
  const take = takeInUse(layer);
  const from = barOfTake(take, mark.bar);
  const marks = (take.marks ?? []).filter((each) => !(each.bar === from && each.kind === mark.kind));
  if (from === null || marks.length === take.marks?.length) return null;
  return { type: 'realign', section, layer: layer.id, take: take.id, alignment: take.alignment, marks };
}

/** What is marked in the take in use, by bars of the section. */
export function marksOf(layer: Layer, sectionBars: number): readonly TripMark[] {
  const { marks = [], startBar } = takeInUse(layer);
  const turned = (bar: number): Bars => bars((bar + startBar) % sectionBars);
  return marks.map((mark) => ({ ...mark, bar: turned(mark.bar), lastBar: turned(mark.lastBar) }));
}

function barOfTake({ startBar, bars: length }: Take, bar: number): Bars | null {
  const from = (((bar - startBar) % length) + length) % length;
  return Number.isInteger(from) ? bars(from) : null;
}
