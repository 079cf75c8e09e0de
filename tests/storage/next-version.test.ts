/**
 * Two versions of the program at once: here the code under test is of the next version of the database, which changes
 * nothing yet, and plainly opened connections play the windows of this one.
 */
import { beforeEach, expect, test, vi } from 'vitest';
import { openLibrary } from '../../src/storage/library.js';
import { freshBrowser, openPlainly } from './support/database.js';
import { watchConnections } from './support/trouble.js';
import { AT, ferry, openedLibrary, valueOf } from './support/given.js';

vi.mock('../../src/storage/schema.js', async (original) => ({ ...(await original<object>()), DATABASE_VERSION: 3 }));

beforeEach(freshBrowser);

test('an older window that does not let go blocks the library, and does not once it is closed', async () => {
  const older = await openPlainly(1);
  expect(await openLibrary(null)).toEqual({ ok: false, reason: 'storage-blocked' });
  older.close();
  expect((await openLibrary(null)).ok).toBe(true);
});

test('a library that was blocked does not hold the database when it opens late', async () => {
  const older = await openPlainly(1);
  const connections = watchConnections();
  await openLibrary(null);
  older.close();
  // Opens after the late connection has, since requests wait in line, and asks nobody to close: it is of this version.
  const other = await openPlainly(3);
  expect(connections).toEqual([expect.anything(), other]);
  expect(() => connections[0]!.transaction('songs')).toThrow(expect.objectContaining({ name: 'InvalidStateError' }));
  other.close();
});

test('an older window that lets go does not block the library', async () => {
  const older = await openPlainly(1, (database) => {
    database.createObjectStore('songs', { keyPath: 'id' }).createIndex('by-order', 'order');
    database.createObjectStore('edits', { keyPath: ['song', 'seq'] });
  });
  older.addEventListener('versionchange', () => {
    older.close();
  });
  const library = await openedLibrary();
  expect(await library.createSong(ferry, AT)).toEqual({ ok: true, value: null });
  expect(await valueOf(library.latestSong())).toMatchObject({ base: ferry });
});
