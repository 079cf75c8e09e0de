/** Songs on the disk: a base each, and a journal of edits. */
import * as v from 'valibot';
import type { JournalledEdit, StoredHistory } from '../core/history/history.js';
import type { Result } from '../core/result/result.js';
import { failure, success } from '../core/result/result.js';
import type { SongId } from '../core/song/ids.js';
import type { Song } from '../core/song/song.js';
import type { StorageRefusal } from '../ports/library.js';
import type { Connection, Transaction } from './connection.js';
import { expectThat } from './library-error.js';
import { isNewer, parseStoredHistory } from './parse-document.js';
import { expectCursor, expectEdit, expectSong } from './rules.js';
import type { SongRow } from './schema.js';

type Answer<Value> = Promise<Result<Value, StorageRefusal>>;
type Writing = Transaction<['songs', 'edits'], 'readwrite'>;

const wholeNumber = v.pipe(v.number(), v.safeInteger());

/** As much of a row as is needed to know whether it may be written to. */
const rowSchema = v.looseObject({ id: v.string(), schema: wholeNumber, order: wholeNumber });

/** Rows of one song's journal; what is in them, the document's own parser judges. */
const journalSchema = (song: SongId) =>
  v.strictObject({ song: v.literal(song), seq: v.unknown(), edit: v.unknown(), at: v.unknown() });

/** The song changed last, or null where there is none. Songs that cannot be told apart by age are 'damaged'. */
export function latestSong(connection: Connection): Answer<StoredHistory | null> {
  return connection.read(['songs', 'edits'], async (transaction): Answer<StoredHistory | null> => {
    const songs = transaction.objectStore('songs');
    const newest = await songs.index('by-order').openCursor(null, 'prev');
    if (newest === null) return (await songs.count()) === 0 ? success(null) : failure('damaged');
    const rows = await transaction.objectStore('edits').getAll(journalOf(newest.primaryKey));
    return parseSong(newest.value, rows);
  });
}

/** Stores a new song, to be the latest. @throws {LibraryError} for a song that is there already, or cannot be. */
export function createSong(connection: Connection, base: Song, at: string): Answer<null> {
  expectSong(base);
  return connection.write(['songs', 'edits'], async (transaction) => {
    const songs = transaction.objectStore('songs');
    expectThat((await songs.count(base.id)) === 0, `Got song ${base.id} twice when expected a new one.`);
    const order = await nextOrder(transaction);
    await songs.add({ id: base.id, schema: base.schema, createdAt: at, order, base, cursor: 0 });
    return success(null);
  });
}

/**
 * Appends an edit in place of all from its seq on, itself included: to append it once more changes nothing.
 * @throws {LibraryError} for a seq that leaves a hole.
 */
export function appendEdit(connection: Connection, song: SongId, edit: JournalledEdit): Answer<null> {
  return connection.write(['songs', 'edits'], async (transaction) => {
    const row = await writableSong(transaction, song);
    if (!row.ok) return row;
    expectEdit(edit, await lastSeq(transaction, song));
    const edits = transaction.objectStore('edits');
    await edits.delete(journalOf(song, edit.seq));
    await edits.add({ song, ...edit });
    await transaction.objectStore('songs').put({ ...row.value, cursor: edit.seq, order: await nextOrder(transaction) });
    return success(null);
  });
}

/** Says how many of the edits hold. @throws {LibraryError} for a cursor outside the journal. */
export function moveCursor(connection: Connection, song: SongId, cursor: number): Answer<null> {
  return connection.write(['songs', 'edits'], async (transaction) => {
    const row = await writableSong(transaction, song);
    if (!row.ok) return row;
    expectCursor(cursor, await lastSeq(transaction, song));
    await transaction.objectStore('songs').put({ ...row.value, cursor, order: await nextOrder(transaction) });
    return success(null);
  });
}

function parseSong(row: SongRow, rows: readonly unknown[]): Result<StoredHistory, StorageRefusal> {
  const checked = checkedRow(row);
  if (!checked.ok) return checked;
  const journal = v.safeParse(v.array(journalSchema(row.id)), rows);
  if (!journal.success) return failure('damaged');
  const edits = journal.output.map(({ seq, edit, at }) => ({ seq, edit, at }));
  const parsed = parseStoredHistory({ base: row.base, edits, cursor: row.cursor });
  return parsed.ok && parsed.value.base.id !== row.id ? failure('damaged') : parsed;
}

async function writableSong(transaction: Writing, song: SongId): Answer<SongRow> {
  const row = await transaction.objectStore('songs').get(song);
  // It was there when it was opened: the browser has cleared the site's data since.
  return row === undefined ? failure('storage-failed') : checkedRow(row);
}

function checkedRow(row: SongRow): Result<SongRow, StorageRefusal> {
  const checked = v.safeParse(rowSchema, row);
  if (!checked.success) return failure('damaged');
  return isNewer(checked.output.schema) ? failure('newer-version') : success(row);
}

async function lastSeq(transaction: Writing, song: SongId): Promise<number> {
  const newest = await transaction.objectStore('edits').openKeyCursor(journalOf(song), 'prev');
  return newest === null ? 0 : newest.primaryKey[1];
}

async function nextOrder(transaction: Writing): Promise<number> {
  const newest = await transaction.objectStore('songs').index('by-order').openKeyCursor(null, 'prev');
  return newest === null ? 1 : newest.key + 1;
}

function journalOf(song: string, from = -Infinity): IDBKeyRange {
  return IDBKeyRange.bound([song, from], [song, Infinity]);
}
