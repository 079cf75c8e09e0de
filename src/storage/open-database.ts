/** Opens the database and answers the four events in a connection's life: upgrade, blocked, blocking, terminated. */
import { openDB } from 'idb';
import type { Result } from '../core/result/result.js';
import { failure, success } from '../core/result/result.js';
import type { StorageRefusal } from '../ports/library.js';
import { openingRefusal } from './refusals.js';
import { DATABASE_NAME, DATABASE_VERSION, type Database, type LibrarySchema, migrate } from './schema.js';

export interface ConnectionEvents {
  /** A newer version of the program, in another window, asked for the database: it was closed so that it may go on. */
  gaveWay(): void;
  /** The browser ended the connection: the disk went away, or the site's data were cleared. */
  terminated(): void;
}

/**
 * The open database, or why there is none. Where an older window would not let go of it, the answer is
 * 'storage-blocked', and the database is closed again as soon as it opens after all.
 */
export function openDatabase(events: ConnectionEvents): Promise<Result<Database, StorageRefusal>> {
  return new Promise((resolve) => {
    let blocked = false;
    let open: Database | null = null;
    const opening = start({
      upgrade: (database, oldVersion) => {
        migrate(database, oldVersion);
      },
      blocked: () => {
        blocked = true;
        resolve(failure('storage-blocked'));
      },
      blocking: () => {
        open?.close();
        events.gaveWay();
      },
      terminated: () => {
        events.terminated();
      },
    });
    opening.then(
      (database) => {
        open = database;
        if (blocked) database.close();
        else resolve(success(database));
      },
      (error: unknown) => {
        resolve(failure(openingRefusal(error)));
      },
    );
  });
}

type Callbacks = NonNullable<Parameters<typeof openDB<LibrarySchema>>[2]>;

async function start(callbacks: Callbacks): Promise<Database> {
  // Some browsers have no indexedDB at all in some windows, and some throw when it is only named.
  if (typeof indexedDB === 'undefined') throw new DOMException('Got no indexedDB.', 'NotAllowedError');
  return await openDB<LibrarySchema>(DATABASE_NAME, DATABASE_VERSION, callbacks);
}
