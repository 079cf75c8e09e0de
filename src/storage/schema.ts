/**
 * What the database holds. Documents are kept as a base and a journal of edits; recordings as chunks in the order in
 * which they came. A change of this form needs a new DATABASE_VERSION, a migration, and a fixture of the old one.
 */
import type { DBSchema, IDBPDatabase } from 'idb';
import type { JournalledEdit } from '../core/history/history.js';
import type { RecordingId, SongId } from '../core/song/ids.js';
import type { RecordingHeader, Song } from '../core/song/song.js';
import type { Frames } from '../core/units/index.js';
import type { SetUp } from '../ports/library.js';

export const DATABASE_NAME = 'manyhand';
export const DATABASE_VERSION = 2;

export interface SongRow {
  readonly id: SongId;
  /** SONG_SCHEMA of the program that wrote the base and its journal; looked at before anything else of them is. */
  readonly schema: number;
  /** ISO 8601, from the clock port. */
  readonly createdAt: string;
  /** Counts up over all songs with every change: the song with the highest was edited last, whatever the clock says. */
  readonly order: number;
  readonly base: Song;
  readonly cursor: number;
}

export interface EditRow extends JournalledEdit {
  readonly song: SongId;
}

/** A recording that was never finished stays open; nothing deletes it or its chunks. */
export type RecordingRow =
  | (RecordingHeader & { readonly state: 'open' })
  | (RecordingHeader & { readonly state: 'finished'; readonly frames: Frames });

export interface ChunkRow {
  readonly recording: RecordingId;
  readonly seq: number;
  readonly start: Frames;
  readonly frames: Frames;
  readonly channels: number;
  /** Planar 32-bit floats of this machine's byte order: channel c begins at sample c × frames. */
  readonly samples: ArrayBuffer;
}

/** One row: what was chosen on this machine. */
export interface SetUpRow extends SetUp {
  readonly id: typeof SET_UP_ID;
}
export const SET_UP_ID = 'this machine';

export interface LibrarySchema extends DBSchema {
  songs: { key: string; value: SongRow; indexes: { 'by-order': number } };
  /** Keyed by song and seq. */
  edits: { key: [song: string, seq: number]; value: EditRow };
  recordings: { key: string; value: RecordingRow };
  /** Keyed by recording and seq. The index tells where a chunk lies without reading its samples. */
  chunks: {
    key: [recording: string, seq: number];
    value: ChunkRow;
    indexes: { 'by-place': [recording: string, start: number, frames: number] };
  };
  /** Since version 2. */
  'set-up': { key: string; value: SetUpRow };
}

export type Database = IDBPDatabase<LibrarySchema>;

/** Brings a database from an older version to this one, inside the upgrade transaction. Version 0 is an empty one. */
export function migrate(database: Database, oldVersion: number): void {
  if (oldVersion < 1) {
    database.createObjectStore('songs', { keyPath: 'id' }).createIndex('by-order', 'order');
    database.createObjectStore('edits', { keyPath: ['song', 'seq'] });
    database.createObjectStore('recordings', { keyPath: 'id' });
    database
      .createObjectStore('chunks', { keyPath: ['recording', 'seq'] })
      .createIndex('by-place', ['recording', 'start', 'frames']);
  }
  if (oldVersion < 2) database.createObjectStore('set-up', { keyPath: 'id' });
}
