/** The steps through a history: a new edit, taking back, putting back. */
import type { Result } from '../result/result.js';
import { success } from '../result/result.js';
import { applyEdit } from '../song/apply-edit.js';
import type { Edit, EditRefusal } from '../song/edits.js';
import { isSilent } from '../song/edits.js';
import type { Song } from '../song/song.js';
import { SongError } from '../song/song-error.js';
import type { History } from './history.js';

/** The song as the player sees it: the one at the cursor. */
export function songOf(history: History): Song {
  const song = history.songs[history.cursor];
  if (song === undefined) {
    throw new SongError(`Got cursor ${history.cursor} when expected one of ${history.songs.length} songs.`);
  }
  return song;
}

/**
 * The history after one more edit; what had been taken back is dropped. An edit that changes nothing gives the very
 * same history, and nothing is to be journalled; so does a silent edit while something could be put back, since nothing
 * that was played may be dropped for it: whoever makes it makes it again later. Else the edit to journal is
 * `edits[cursor − 1]`.
 * @param at ISO 8601, from the clock port.
 * @throws {SongError} for parts that cannot join the song (see applyEdit).
 */
export function record(history: History, edit: Edit, at: string): Result<History, EditRefusal> {
  const before = songOf(history);
  const after = applyEdit(before, edit);
  if (!after.ok) return after;
  if (after.value === before) return success(history);
  if (isSilent(edit) && nextToPutBack(history) !== null) return success(history);
  const cursor = history.cursor + 1;
  return success({
    songs: [...history.songs.slice(0, cursor), after.value],
    edits: [...history.edits.slice(0, history.cursor), { seq: cursor, edit, at }],
    cursor,
  });
}

/** The history one step back; the same where nothing is left to take back. */
export function takeBack(history: History): History {
  const last = lastStep(history);
  return last < 0 ? history : { ...history, cursor: last };
}

/** The history one step on; the same where nothing was taken back. */
export function putBack(history: History): History {
  const next = nextStep(history);
  if (next < 0) return history;
  let cursor = next + 1;
  while (isSilentAt(history, cursor)) cursor++;
  return { ...history, cursor };
}

/** The edit that `takeBack` would undo, or null; silent ones after it go with it. */
export function nextToTakeBack(history: History): Edit | null {
  return history.edits[lastStep(history)]?.edit ?? null;
}

/** The edit that `putBack` would do again, or null; silent ones after it come with it. */
export function nextToPutBack(history: History): Edit | null {
  return history.edits[nextStep(history)]?.edit ?? null;
}

/** Index of the newest edit that holds and is a step; −1 if there is none. */
function lastStep({ edits, cursor }: History): number {
  return edits.findLastIndex(({ edit }, index) => index < cursor && !isSilent(edit));
}

/** Index of the first edit that was taken back and is a step; −1 if there is none. */
function nextStep({ edits, cursor }: History): number {
  return edits.findIndex(({ edit }, index) => index >= cursor && !isSilent(edit));
}

function isSilentAt({ edits }: History, index: number): boolean {
  const journalled = edits[index];
  return journalled !== undefined && isSilent(journalled.edit);
}
