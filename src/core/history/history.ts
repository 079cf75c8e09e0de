/**
 * History: a base song and the journal of edits made since, with a cursor. The song at the cursor is what the player
 * sees; taking back moves the cursor, and a new edit drops what lay beyond it. On disk it is the same: base, journal,
 * cursor (ports/library).
 *
 * A silent edit (song/edits, isSilent) is journalled like any other but is no step of the player's: a step is one edit
 * with the silent ones after it, and taking back and putting back go by steps.
 */
import type { Edit, EditRefusal } from '../song/edits.js';
import type { Song } from '../song/song.js';

/** One edit as it is journalled. `seq` counts from 1 and has no holes. */
export interface JournalledEdit {
  readonly seq: number;
  readonly edit: Edit;
  /** ISO 8601, from the clock port. */
  readonly at: string;
}

/** What storage keeps of a song's document. */
export interface StoredHistory {
  readonly base: Song;
  readonly edits: readonly JournalledEdit[];
  /** Edits that hold: 0 … edits.length. */
  readonly cursor: number;
}

/**
 * A history in memory: the song at every step, since whole songs are small and share what did not change. Made by
 * open-history.ts, moved by steps.ts.
 */
export interface History {
  /** The base, then the song after each edit: always one more than there are edits. */
  readonly songs: readonly Song[];
  readonly edits: readonly JournalledEdit[];
  /** Edits that hold: 0 … edits.length. */
  readonly cursor: number;
}

/** Why a stored history cannot be opened: an edit that does not apply, or one of the faults of a damaged document. */
export type HistoryRefusal =
  | EditRefusal
  /** The base is not a song that could have been made here. */
  | 'broken-base'
  /** The journal has a hole, or its cursor points beyond it. */
  | 'broken-journal'
  /** A layer, a take or another part in the journal that cannot be. */
  | 'broken-part';
