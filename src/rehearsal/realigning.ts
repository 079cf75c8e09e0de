/** Takes that lie elsewhere than was known, as edits: moved by the player, or left as they are. */
import type { TripMark } from '../core/watch/alignments.js';
import { realignFrom } from '../core/watch/realign.js';
import type { Edit } from '../core/song/edits.js';
import type { SectionId } from '../core/song/ids.js';
import { takeInUse } from '../core/song/lookups.js';
import type { Layer } from '../core/song/song.js';
import type { Bars, Frames } from '../core/units/index.js';
import { bars, frames } from '../core/units/index.js';

type Realign = Extract<Edit, { type: 'realign' }>;

/** A mark, and where it is drawn. */
export interface DrawnMark {
  /** By bars of its take, as it is moved and left. */
  readonly mark: TripMark;
  /** Bar of the section, from 0. */
  readonly bar: Bars;
  /** From 1: a take longer than the section sounds in that bar again, with other bars of its own. */
  readonly round: number;
}

/** From a bar of its own on, from 0, the take in use lies so many frames too late (below 0: too early). Null: no such bar. */
export function movedByHand(layer: Layer, section: SectionId, bar: Bars, shift: Frames): Realign | null {
  const take = takeInUse(layer);
  if (!Number.isInteger(bar) || bar < 0 || bar >= take.bars) return null;
  const known = take.alignment.map((each) => ({ ...each, within: each.within ?? frames(0) }));
  const alignment = realignFrom(known, bar, { shift }).map(({ fromBar, roundTrip, how, sure }) => ({
    fromBar,
    roundTrip,
    how,
    sure,
  }));
  const marks = (take.marks ?? []).filter((mark) => mark.bar !== bar);
  return { type: 'realign', section, layer: layer.id, take: take.id, alignment, marks };
}

/** The player leaves what is marked as it is, and wants to hear no more of it. Null: the take has no such mark. */
export function markLeft(layer: Layer, section: SectionId, { bar, kind }: TripMark): Realign | null {
  const take = takeInUse(layer);
  const marks = (take.marks ?? []).filter((each) => !(each.bar === bar && each.kind === kind));
  if (marks.length === (take.marks ?? []).length) return null;
  return { type: 'realign', section, layer: layer.id, take: take.id, alignment: take.alignment, marks };
}

/** What is marked in the take in use. @param sectionBars null while the section is open: then the take's own bars count. */
export function marksOf(layer: Layer, sectionBars: number | null): readonly DrawnMark[] {
  const { marks = [], startBar, bars: length } = takeInUse(layer);
  // A short take comes round within the section, a long one over several rounds of it.
  const around = Math.max(length, sectionBars ?? 0);
  const line = sectionBars ?? around;
  return marks.map((mark) => {
    const place = (mark.bar + startBar) % around;
    return { mark, bar: bars(place % line), round: Math.floor(place / line) + 1 };
  });
}
