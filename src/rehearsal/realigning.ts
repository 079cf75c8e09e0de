/** Takes that lie elsewhere than was known, as edits: found by the watch, moved by the player, or left as they are. */
import type { PassAlignments, TripMark } from '../core/watch/alignments.js';
import { realignFrom } from '../core/watch/realign.js';
import type { Edit } from '../core/song/edits.js';
import type { LayerId, SectionId, TakeId } from '../core/song/ids.js';
import { takeInUse } from '../core/song/lookups.js';
import type { Alignment, Layer, Song, Take } from '../core/song/song.js';
import type { Bars, Frames } from '../core/units/index.js';
import { bars, frames } from '../core/units/index.js';

/** Where a take is in the song. */
export interface TakeOfPass {
  readonly section: SectionId;
  readonly layer: LayerId;
  readonly take: TakeId;
}

type Realign = Extract<Edit, { type: 'realign' }>;

/** Where a take is; null where the song has it no more, or only inside a blend. */
export function placeOf(song: Song, take: TakeId): TakeOfPass | null {
  for (const section of song.sections) {
    const layer = section.layers.find(({ takes }) => takes.some(({ id }) => id === take));
    if (layer !== undefined) return { section: section.id, layer: layer.id, take };
  }
  return null;
}

/** What the watch found of a take. Null where the song says so already, or has the take no more. */
export function foundByWatch(song: Song, take: TakeId, found: PassAlignments): Realign | null {
  const place = placeOf(song, take);
  const old = place === null ? null : takeAt(song, place);
  if (place === null || old === null || found.alignments.length === 0) return null;
  const alignment = found.alignments.map(({ fromBar, roundTrip, how, sure, within }): Alignment => {
    const plain = { fromBar, roundTrip, how, sure };
    return within === 0 ? plain : { ...plain, within };
  });
  if (isSame(alignment, old.alignment) && isSame(found.marks, old.marks ?? [])) return null;
  return { type: 'realign', ...place, alignment, marks: found.marks, by: 'watch' };
}

/** How much later in the recording its first bar is looked for than it was. */
export function movedBy(song: Song, edit: Realign): Frames {
  const before = takeAt(song, edit)?.alignment[0]?.roundTrip ?? 0;
  return frames((edit.alignment[0]?.roundTrip ?? before) - before);
}

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

function takeAt(song: Song, { section, layer, take }: TakeOfPass): Take | null {
  const held = song.sections.find(({ id }) => id === section)?.layers.find(({ id }) => id === layer);
  return held?.takes.find(({ id }) => id === take) ?? null;
}

const isSame = <Plain extends object>(a: readonly Plain[], b: readonly Plain[]): boolean =>
  a.length === b.length &&
  a.every((each, index) => (Object.keys(each) as (keyof Plain)[]).every((key) => each[key] === b[index]?.[key]));
