import fc from 'fast-check';
import { beforeEach, describe, expect, test, vi } from 'vitest';
import { frames } from '../../src/core/units/index.js';
import type { Library } from '../../src/ports/library.js';
import { LibraryError } from '../../src/storage/library-error.js';
import { openMemoryLibrary } from '../../src/storage/memory-library.js';
import { dump, freshBrowser } from './support/database.js';
import {
  AT,
  chunk,
  ferry,
  header,
  openedLibrary,
  recordingId,
  songNamed,
  tempoEdit,
  valueOf,
} from './support/given.js';
import { describeLibrary } from './support/library-contract.js';
import { methodOf } from './support/trouble.js';

beforeEach(freshBrowser);

describeLibrary('the library on the disk', async () => {
  freshBrowser();
  return await openedLibrary();
});

describe('the library on the disk', () => {
  test('is there after a reload, edits, cursor, chunks and all', async () => {
    const library = await openedLibrary();
    await library.createSong(ferry, AT);
    await library.appendEdit(ferry.id, tempoEdit(1));
    await library.appendEdit(ferry.id, tempoEdit(2));
    await library.moveCursor(ferry.id, 1);
    await library.beginRecording(header());
    await library.appendChunk(chunk(0, 0, 100));
    library.close();

    const again = await openedLibrary();
    expect(await valueOf(again.latestSong())).toEqual({ base: ferry, edits: [tempoEdit(1), tempoEdit(2)], cursor: 1 });
    // The recording was open when the page went away: it goes on where it stopped.
    expect(await again.appendChunk(chunk(1, 100, 100))).toEqual({ ok: true, value: null });
    expect((await valueOf(again.readRecording(recordingId, 0, frames(0), frames(200)))).missing).toBe(0);
  });

  test('keeps an unfinished recording as open, and a finished one with its length', async () => {
    const library = await openedLibrary();
    await library.beginRecording(header());
    await library.appendChunk(chunk(0, 0, 100));
    const recordings = async () => (await dump()).stores.find(({ name }) => name === 'recordings')?.rows;
    expect(await recordings()).toEqual([{ ...header(), state: 'open' }]);
    await library.finishRecording(recordingId, frames(100));
    expect(await recordings()).toEqual([{ ...header(), state: 'finished', frames: 100 }]);
  });

  test('keeps what was asked for before it was closed', async () => {
    const library = await openedLibrary();
    const pending = [
      library.createSong(ferry, AT),
      library.appendEdit(ferry.id, tempoEdit(1)),
      library.beginRecording(header()),
      library.appendChunk(chunk(0, 0, 100)),
    ];
    library.close();
    expect(await Promise.all(pending)).toEqual(pending.map(() => ({ ok: true, value: null })));
    expect(await valueOf((await openedLibrary()).latestSong())).toMatchObject({ cursor: 1 });
  });

  test('writes in strict transactions, one for each call', async () => {
    const library = await openedLibrary();
    const begun = vi.spyOn(IDBDatabase.prototype, 'transaction');
    await library.createSong(ferry, AT);
    await library.appendEdit(ferry.id, tempoEdit(1));
    await library.moveCursor(ferry.id, 0);
    await library.beginRecording(header());
    await library.appendChunk(chunk(0, 0, 100));
    await library.finishRecording(recordingId, frames(100));
    expect(begun.mock.calls.map(([, mode, options]) => [mode, options])).toEqual(
      Array.from({ length: 6 }, () => ['readwrite', { durability: 'strict' }]),
    );
  });

  test('answers only after the transaction is complete', async () => {
    const library = await openedLibrary();
    const told: string[] = [];
    const original = methodOf(IDBDatabase.prototype, 'transaction');
    vi.spyOn(IDBDatabase.prototype, 'transaction').mockImplementation(function (this: IDBDatabase, ...args) {
      const transaction = original.apply(this, args);
      transaction.addEventListener('complete', () => told.push('complete'));
      return transaction;
    });
    await library.createSong(ferry, AT).then(() => told.push('answer'));
    await library.beginRecording(header()).then(() => told.push('answer'));
    await library.appendChunk(chunk(0, 0, 100)).then(() => told.push('answer'));
    expect(told).toEqual(['complete', 'answer', 'complete', 'answer', 'complete', 'answer']);
  });

  test.each([
    [0, 100, 1],
    [99, 1, 1],
    [100, 1, 1],
    [99, 2, 2],
    [250, 100, 2],
    [2000, 10, 0],
    [-10, 10, 0],
    [-10, 11, 1],
    [1950, 100, 1],
  ])('reads no more chunks than hold frames: from %i, %i frames, %i chunks', async (start, count, chunks) => {
    const library = await openedLibrary();
    await library.beginRecording(header());
    for (let seq = 0; seq < 20; seq++) await library.appendChunk(chunk(seq, seq * 100, 100));
    const read = vi.spyOn(IDBIndex.prototype, 'getAll');
    const whole = vi.spyOn(IDBObjectStore.prototype, 'getAll');
    await library.readRecording(recordingId, 0, frames(start), frames(count));
    const rows = read.mock.results.map(({ value }) => (value as IDBRequest<unknown[]>).result.length);
    expect(rows.reduce((sum, length) => sum + length, 0)).toBe(chunks);
    expect(whole).not.toHaveBeenCalled();
  });
});

type Call = (library: Library) => Promise<unknown>;
const small = fc.integer({ min: -1, max: 4 });
const calls: fc.Arbitrary<Call> = fc.oneof(
  fc.constant<Call>((held) => held.latestSong()),
  fc.constantFrom('ferry', 'pier').map(
    (id): Call =>
      (held) =>
        held.createSong(songNamed(id), AT),
  ),
  fc.tuple(fc.constantFrom('ferry', 'pier'), small).map(
    ([id, seq]): Call =>
      (held) =>
        held.appendEdit(songNamed(id).id, tempoEdit(seq)),
  ),
  fc.tuple(fc.constantFrom('ferry', 'pier'), small).map(
    ([id, cursor]): Call =>
      (held) =>
        held.moveCursor(songNamed(id).id, cursor),
  ),
  fc.integer({ min: 0, max: 2 }).map(
    (channels): Call =>
      (held) =>
        held.beginRecording(header(channels)),
  ),
  fc.tuple(small, fc.nat({ max: 3 }), fc.nat({ max: 2 }), fc.integer({ min: 0, max: 2 })).map(
    ([seq, start, length, channels]): Call =>
      (held) =>
        held.appendChunk(chunk(seq, start * 300, length * 300, channels)),
  ),
  fc.nat({ max: 4 }).map(
    (length): Call =>
      (held) =>
        held.finishRecording(recordingId, frames(length * 300)),
  ),
  fc.tuple(fc.integer({ min: -1, max: 2 }), fc.integer({ min: -2, max: 4 }), small).map(
    ([channel, start, count]): Call =>
      (held) =>
        held.readRecording(recordingId, channel, frames(start * 150), frames(count * 150)),
  ),
);

test('both libraries answer every sequence of calls alike, mistakes included', async () => {
  const outcome = async (call: Call, library: Library): Promise<unknown> =>
    await call(library).catch((error: unknown) => {
      if (error instanceof LibraryError) return error.message;
      throw error;
    });
  await fc.assert(
    fc.asyncProperty(fc.array(calls, { maxLength: 25 }), async (path) => {
      freshBrowser();
      const disk = await openedLibrary();
      const memory = openMemoryLibrary();
      for (const call of path) expect(await outcome(call, disk)).toEqual(await outcome(call, memory));
    }),
    { numRuns: 150 },
  );
});
