/** The steps through a history: a new edit, taking back, putting back. */
import type { Result } from '../result/result.js';
import { success } from '../result/result.js';
import { applyEdit } from '../song/apply-edit.js';
import type { Edit, EditRefusal } from '../song/edits.js';
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
 * same history, and nothing is to be journalled; else the edit to journal is `edits[cursor − 1]`.
 * @param at ISO 8601, from the clock port.
 * @throws {SongError} for a layer that cannot be (see applyEdit).
 */
export function record(history: History, edit: Edit, at: string): Result<History, EditRefusal> {
  const before = songOf(history);
  const after = applyEdit(before, edit);
  if (!after.ok) return after;
  if (after.value === before) return success(history);
  const cursor = history.cursor + 1;
  return success({
    songs: [...history.songs.slice(0, cursor), after.value],
    edits: [...history.edits.slice(0, history.cursor), { seq: cursor, edit, at }],
    cursor,
  });
}

/** The history one edit back; the same where nothing is left to take back. */
export function takeBack(history: History): History {
  return history.cursor === 0 ? history : { ...history, cursor: history.cursor - 1 };
}

/** The history one edit on; the same where nothing was taken back. */
export function putBack(history: History): History {
  return history.cursor === history.edits.length ? history : { ...history, cursor: history.cursor + 1 };
}

/** The edit that `takeBack` would undo, or null. */
export function nextToTakeBack(history: History): Edit | null {
  return history.edits[history.cursor - 1]?.edit ?? null;
}

/** The edit that `putBack` would do again, or null. */
export function nextToPutBack(history: History): Edit | null {
  return history.edits[history.cursor]?.edit ?? null;
}
