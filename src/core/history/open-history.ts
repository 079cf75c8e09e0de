/** Opens a stored history by replaying its journal over its base. */
import type { Result } from '../result/result.js';
import { failure, success } from '../result/result.js';
import { applyEdit } from '../song/apply-edit.js';
import type { Edit } from '../song/edits.js';
import { songFault } from '../song/invariants.js';
import { newPartsFault } from '../song/new-parts.js';
import type { Song } from '../song/song.js';
import type { History, HistoryRefusal, StoredHistory } from './history.js';

/** The history with the song at every step, or why the stored one does not hold together. Never throws for its content. */
export function openHistory({ base, edits, cursor }: StoredHistory): Result<History, HistoryRefusal> {
  if (songFault(base) !== null) return failure('broken-base');
  if (!Number.isInteger(cursor) || cursor < 0 || cursor > edits.length) return failure('broken-journal');
  const songs: Song[] = [base];
  let song = base;
  for (const [index, journalled] of edits.entries()) {
    if (journalled.seq !== index + 1) return failure('broken-journal');
    const after = replay(song, journalled.edit);
    if (!after.ok) return after;
    song = after.value;
    songs.push(song);
  }
  return success({ songs, edits, cursor });
}

function replay(song: Song, edit: Edit): Result<Song, HistoryRefusal> {
  // In a journal a part that cannot be is damage, not a programmer's mistake, so it is looked at before it is applied.
  if (newPartsFault(song, edit) !== null) return failure('broken-part');
  return applyEdit(song, edit);
}
