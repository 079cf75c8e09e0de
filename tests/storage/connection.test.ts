import { beforeEach, describe, expect, test, vi } from 'vitest';
import { openLibrary } from '../../src/storage/library.js';
import { DATABASE_VERSION } from '../../src/storage/schema.js';
import { dump, freshBrowser, openPlainly, tamper } from './support/database.js';
import { AT, chunk, ferry, header, openedLibrary, songNamed, tempoEdit, valueOf } from './support/given.js';
import { terminate, watchConnections } from './support/trouble.js';

const DONE = { ok: true, value: null };
const refused = (reason: string) => ({ ok: false, reason });

beforeEach(freshBrowser);

describe('opening the library', () => {
  test('is refused where the browser has no IndexedDB', async () => {
    vi.stubGlobal('indexedDB', undefined);
    expect(await openLibrary(null)).toEqual(refused('storage-refused'));
  });

  test('is refused where the browser throws when IndexedDB is only named', async () => {
    const kept = Object.getOwnPropertyDescriptor(globalThis, 'indexedDB')!;
    Object.defineProperty(globalThis, 'indexedDB', {
      configurable: true,
      get: () => {
        throw new DOMException('', 'SecurityError');
      },
    });
    try {
      expect(await openLibrary(null)).toEqual(refused('storage-refused'));
    } finally {
      Object.defineProperty(globalThis, 'indexedDB', kept);
    }
  });

  test.each([
    ['SecurityError', 'storage-refused'],
    ['UnknownError', 'storage-refused'],
    ['QuotaExceededError', 'storage-full'],
  ])('tells what the browser says: %s', async (name, reason) => {
    vi.spyOn(IDBFactory.prototype, 'open').mockImplementation(() => {
      throw new DOMException('', name);
    });
    expect(await openLibrary(null)).toEqual(refused(reason));
  });

  test('leaves a database of a newer version as it is', async () => {
    const newer = await openPlainly(DATABASE_VERSION + 1, (database) =>
      database.createObjectStore('something new', { keyPath: 'id' }),
    );
    newer.close();
    const before = await dump();
    expect(await openLibrary(null)).toEqual(refused('newer-version'));
    expect(await dump()).toEqual(before);
    expect(before.version).toBe(DATABASE_VERSION + 1);
  });
});

describe('when a newer version opens in another window', () => {
  test('the library lets it go on, and answers that storage is blocked', async () => {
    const library = await openedLibrary();
    await library.createSong(ferry, AT);
    const newer = await openPlainly(DATABASE_VERSION + 1);
    expect(await library.latestSong()).toEqual(refused('storage-blocked'));
    expect(await library.appendEdit(ferry.id, tempoEdit(1))).toEqual(refused('storage-blocked'));
    expect(await library.appendChunk(chunk(0, 0, 10))).toEqual(refused('storage-blocked'));
    newer.close();
    expect(await library.latestSong()).toEqual(refused('storage-blocked'));
  });

  test('writes that were under way are completed first', async () => {
    const library = await openedLibrary();
    const written = library.createSong(ferry, AT);
    const newer = await openPlainly(DATABASE_VERSION + 1);
    newer.close();
    expect(await written).toEqual(DONE);
    expect((await dump()).stores.find(({ name }) => name === 'songs')?.rows).toHaveLength(1);
  });
});

describe('a connection that the browser ended', () => {
  test('is opened again by the next call, and everything is still there', async () => {
    const connections = watchConnections();
    const library = await openedLibrary();
    await library.createSong(ferry, AT);
    await terminate(connections[0]!);
    const asked = vi.spyOn(connections[0]!, 'transaction');
    expect(await library.appendEdit(ferry.id, tempoEdit(1))).toEqual(DONE);
    expect(connections).toHaveLength(2);
    expect(asked).not.toHaveBeenCalled();
    expect(await valueOf(library.latestSong())).toEqual({ base: ferry, edits: [tempoEdit(1)], cursor: 1 });
  });

  test('without a word is opened again once, whoever calls, and calls stay in order', async () => {
    const connections = watchConnections();
    const library = await openedLibrary();
    await library.createSong(ferry, AT);
    connections[0]!.close();
    const results = await Promise.all([1, 2, 3].map((seq) => library.appendEdit(ferry.id, tempoEdit(seq))));
    expect(results).toEqual([DONE, DONE, DONE]);
    expect(connections).toHaveLength(2);
  });

  test('again and again is opened again each time', async () => {
    const connections = watchConnections();
    const library = await openedLibrary();
    await library.createSong(ferry, AT);
    for (const seq of [1, 2, 3, 4]) {
      await terminate(connections.at(-1)!);
      expect(await library.appendEdit(ferry.id, tempoEdit(seq))).toEqual(DONE);
    }
    expect(connections).toHaveLength(5);
  });

  test('says why it cannot be opened again, and tries once more at the next call', async () => {
    const connections = watchConnections();
    const library = await openedLibrary();
    await terminate(connections[0]!);
    const open = vi.spyOn(IDBFactory.prototype, 'open').mockImplementation(() => {
      throw new DOMException('', 'UnknownError');
    });
    expect(await library.createSong(ferry, AT)).toEqual(refused('storage-refused'));
    open.mockRestore();
    expect(await library.createSong(ferry, AT)).toEqual(DONE);
  });

  test('because the site’s data were cleared says that the song is gone, and takes a new one', async () => {
    const connections = watchConnections();
    const library = await openedLibrary();
    await library.createSong(ferry, AT);
    await library.beginRecording(header());
    await terminate(connections[0]!);
    await tamper((store) => {
      for (const name of ['songs', 'edits', 'recordings', 'chunks']) store(name).clear();
    });
    expect(await library.appendEdit(ferry.id, tempoEdit(1))).toEqual(refused('storage-failed'));
    expect(await library.appendChunk(chunk(0, 0, 10))).toEqual(refused('storage-failed'));
    expect(await library.createSong(songNamed('pier'), AT)).toEqual(DONE);
  });
});

test('without locks, two windows of the same version share the library', async () => {
  const [one, two] = [await openedLibrary(), await openedLibrary()];
  await one.createSong(ferry, AT);
  await two.appendEdit(ferry.id, tempoEdit(1));
  expect(await valueOf(one.latestSong())).toEqual({ base: ferry, edits: [tempoEdit(1)], cursor: 1 });
});
