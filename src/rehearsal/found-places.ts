/** Takes that were found to lie elsewhere than was known, as edits. */
import type { Edit } from '../core/song/edits.js';
import type { LayerId, SectionId, TakeId } from '../core/song/ids.js';
import type { Alignment, Song, Take } from '../core/song/song.js';
import type { Frames } from '../core/units/index.js';
import { frames } from '../core/units/index.js';
import type { PassAlignments } from '../core/watch/alignments.js';

/** Where a take is in the song. */
interface TakeOfPass {
  readonly section: SectionId;
  readonly layer: LayerId;
  readonly take: TakeId;
}

type Realign = Extract<Edit, { type: 'realign' }>;

/** Where a take is; null where the song has it no more, or only inside a blend. */
function placeOf(song: Song, take: TakeId): TakeOfPass | null {
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

/** What the layer is called whose take it is. */
export function nameOf(song: Song, { section, layer }: Realign): string {
  const layers = song.sections.find(({ id }) => id === section)?.layers;
  return layers?.find(({ id }) => id === layer)?.name ?? '';
}

function takeAt(song: Song, { section, layer, take }: TakeOfPass): Take | null {
  const held = song.sections.find(({ id }) => id === section)?.layers.find(({ id }) => id === layer);
  return held?.takes.find(({ id }) => id === take) ?? null;
}

const isSame = <Plain extends object>(a: readonly Plain[], b: readonly Plain[]): boolean =>
  a.length === b.length &&
  a.every((each, index) => (Object.keys(each) as (keyof Plain)[]).every((key) => each[key] === b[index]?.[key]));
