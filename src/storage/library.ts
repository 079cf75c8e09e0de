/** The library on the disk: the port, implemented over one connection to IndexedDB. */
import type { Result } from '../core/result/result.js';
import { failure, success } from '../core/result/result.js';
import type { Library, StorageRefusal } from '../ports/library.js';
import { Connection } from './connection.js';
import { type HeldLock, type Locks, locksOfThisPage, takeLock } from './one-writer.js';
import { isPersistent, requestPersistence } from './persistence.js';
import { appendChunk, beginRecording, finishRecording, readRecording } from './recordings.js';
import { keepSetUp, readSetUp } from './set-up.js';
import { appendEdit, createSong, latestSong, moveCursor } from './songs.js';

/**
 * Opens the player's library, or says why the browser has none to give: 'storage-blocked' where another window holds it,
 * and then nothing was touched. Every promise of a library rejects with LibraryError for a programmer's mistake, and then
 * nothing was written.
 * @param locks null where one window more is no danger.
 */
export async function openLibrary(locks: Locks | null = locksOfThisPage()): Promise<Result<Library, StorageRefusal>> {
  const lock = await takeLock(locks);
  if (lock === null) return failure('storage-blocked');
  const connection = new Connection();
  const opened = await connection.open();
  if (opened.ok) return success(libraryOver(connection, lock));
  lock.release();
  return opened;
}

/* Asynchronous functions, so that what a call is owed is checked at once and a mistake still comes as a rejection. */
function libraryOver(connection: Connection, lock: HeldLock): Library {
  return {
    latestSong: async () => await latestSong(connection),
    createSong: async (base, at) => await createSong(connection, base, at),
    appendEdit: async (song, edit) => await appendEdit(connection, song, edit),
    moveCursor: async (song, cursor) => await moveCursor(connection, song, cursor),
    beginRecording: async (header) => await beginRecording(connection, header),
    appendChunk: async (chunk) => await appendChunk(connection, chunk),
    finishRecording: async (recording, frames) => await finishRecording(connection, recording, frames),
    readRecording: async (recording, channel, start, count) =>
      await readRecording(connection, recording, channel, start, count),
    setUp: async () => await readSetUp(connection),
    keepSetUp: async (setUp) => await keepSetUp(connection, setUp),
    isPersistent,
    requestPersistence,
    close: () => {
      connection.close();
      lock.release();
    },
  };
}
