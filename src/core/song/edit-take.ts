/**
 * The edits of a layer's takes. Each gives the same song back where nothing changes.
 *
 * A take is one window, and the first entry of its alignment placed it: the body of bars [a, b) begins at line a plus the
 * round trip that held then. Later entries say that from a bar on another round trip held, because something moved the
 * audio under the pass: the bars from there on lie in the recording by the difference later (moves.ts).
 */
import { failure, success } from '../result/result.js';
import type { Seam, SeamKind } from '../seam/seam.js';
import { frames } from '../units/index.js';
import { type Edited, inLayer, replaced } from './edit-section.js';
import { endShift } from './moves.js';
import type { LayerId, SectionId, TakeId } from './ids.js';
import type { TripMark } from '../watch/alignments.js';
import type { Alignment, Song, Take } from './song.js';

const NO_MARKS: readonly TripMark[] = [];

/** Where a take is. */
export interface TakePlace {
  readonly section: SectionId;
  readonly layer: LayerId;
  readonly take: TakeId;
}

/** Adds a take behind the others, and uses it. */
export function addTake(song: Song, section: SectionId, layer: LayerId, take: Take): Edited<Song> {
  return inLayer(song, section, layer, (old) => success({ ...old, takes: [...old.takes, take], takeInUse: take.id }));
}

/** Uses another of a layer's takes. */
export function useTake(song: Song, section: SectionId, layer: LayerId, take: TakeId): Edited<Song> {
  return inLayer(song, section, layer, (old) => {
    if (!old.takes.some(({ id }) => id === take)) return failure('no-such-take');
    return success(take === old.takeInUse ? old : { ...old, takeInUse: take });
  });
}

/** Sets what was heard at a take's lines. */
export function setSeam(song: Song, place: TakePlace, seam: Seam): Edited<Song> {
  return inTake(song, place, (old) =>
    equalFields(seam, old.seam.decided) ? old : { ...old, seam: { ...old.seam, decided: seam } },
  );
}

/** Sets what the player wants of a take's seam. What was decided for other wishes no longer holds. */
export function chooseSeam(song: Song, place: TakePlace, chosen: SeamKind | null, pickup: boolean): Edited<Song> {
  return inTake(song, place, (old) => {
    const same = chosen === old.seam.chosen && pickup === old.seam.pickup;
    return same ? old : { ...old, seam: { chosen, pickup, decided: null } };
  });
}

/**
 * Moves a take's window by what its first round trip was wrong. What lies before and after it in the recording stays;
 * its lines are other frames than those that were listened to.
 */
export function realign(
  song: Song,
  place: TakePlace,
  alignment: readonly Alignment[],
  given: readonly TripMark[] | undefined,
): Edited<Song> {
  return inTake(song, place, (old) => {
    const kept = old.marks ?? NO_MARKS;
    const marks = given === undefined || equalLists(given, kept) ? kept : given;
    if (equalLists(alignment, old.alignment) && marks === kept) return old;
    const by = (alignment[0]?.roundTrip ?? 0) - (old.alignment[0]?.roundTrip ?? 0);
    const aligned = marks === kept ? { ...old, alignment } : { ...old, alignment, marks };
    if (by === 0 && endShift(aligned) === endShift(old)) return aligned;
    return {
      ...aligned,
      bodyStart: frames(old.bodyStart + by),
      lead: frames(Math.max(0, old.lead + by)),
      tail: frames(Math.max(0, old.tail - by)),
      seam: { ...old.seam, decided: null },
    };
  });
}

function inTake(song: Song, { section, layer, take }: TakePlace, change: (take: Take) => Take): Edited<Song> {
  return inLayer(song, section, layer, (held) => {
    const old = held.takes.find(({ id }) => id === take);
    if (old === undefined) return failure('no-such-take');
    const changed = change(old);
    return success(changed === old ? held : { ...held, takes: replaced(held.takes, old, changed) });
  });
}

const equalLists = <Plain extends object>(a: readonly Plain[], b: readonly Plain[]): boolean =>
  a.length === b.length && a.every((each, index) => equalFields(each, b[index] ?? null));

function equalFields<Plain extends object>(a: Plain, b: Plain | null): boolean {
  return b !== null && (Object.keys(a) as (keyof Plain)[]).every((key) => a[key] === b[key]);
}
