/** One window writes (Web Locks API). The fake lock manager is tested against the browser's own in tests/browser. */
import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import type { Library } from '../../src/ports/library.js';
import { openLibrary } from '../../src/storage/library.js';
import { LOCK_NAME, type Locks } from '../../src/storage/one-writer.js';
import { dump, freshBrowser } from './support/database.js';
import { FakeLocks } from './support/fake-locks.js';
import { AT, ferry, tempoEdit, valueOf } from './support/given.js';
import { watchConnections } from './support/trouble.js';

const DONE = { ok: true, value: null };
const BLOCKED = { ok: false, reason: 'storage-blocked' };

let locks: FakeLocks;

beforeEach(() => {
  freshBrowser();
  locks = new FakeLocks();
  // The lock is waited for in real time otherwise; the database needs no timeouts.
  vi.useFakeTimers({ toFake: ['setTimeout', 'clearTimeout'] });
});

afterEach(() => {
  vi.useRealTimers();
});

const window = (): Promise<Library> => valueOf(openLibrary(locks));

/** What a window is told for whom the first does not let go. */
async function secondWindow(): Promise<unknown> {
  const answer = openLibrary(locks);
  await vi.advanceTimersByTimeAsync(5000);
  return await answer;
}

describe('a second window', () => {
  test('is told that storage is blocked, and touches nothing', async () => {
    const first = await window();
    await first.createSong(ferry, AT);
    const before = await dump();
    const connections = watchConnections();
    expect(await secondWindow()).toEqual(BLOCKED);
    expect(connections).toHaveLength(0);
    expect(await dump()).toEqual(before);
  });

  test('leaves the first as it was: it goes on writing', async () => {
    const first = await window();
    await first.createSong(ferry, AT);
    await secondWindow();
    expect(await first.appendEdit(ferry.id, tempoEdit(1))).toEqual(DONE);
  });

  test('is refused as often as it asks, and opens with everything once the first is closed', async () => {
    const first = await window();
    await first.createSong(ferry, AT);
    expect(await secondWindow()).toEqual(BLOCKED);
    expect(await secondWindow()).toEqual(BLOCKED);
    await first.appendEdit(ferry.id, tempoEdit(1));
    first.close();
    expect(await valueOf((await window()).latestSong())).toEqual({ base: ferry, edits: [tempoEdit(1)], cursor: 1 });
  });

  test('opens where the first has gone without a word', async () => {
    await window();
    locks.endHolder(LOCK_NAME);
    expect((await openLibrary(locks)).ok).toBe(true);
  });

  test('waits for a first that is just being closed', async () => {
    const first = await window();
    const second = openLibrary(locks);
    await vi.advanceTimersByTimeAsync(900);
    first.close();
    expect((await second).ok).toBe(true);
    expect(await secondWindow()).toEqual(BLOCKED);
  });
});

describe('the lock', () => {
  test('is one for the whole library, exclusive, and takes itself from nobody', async () => {
    await window();
    expect(LOCK_NAME).toBe('manyhand library');
    expect(locks.isHeld(LOCK_NAME)).toBe(true);
    expect(locks.asked).toMatchObject([{ mode: 'exclusive' }]);
    expect(locks.asked[0]).not.toHaveProperty('steal');
  });

  test('is that of the page unless another is given', async () => {
    vi.stubGlobal('navigator', { locks });
    expect((await openLibrary()).ok).toBe(true);
    expect(locks.isHeld(LOCK_NAME)).toBe(true);
  });

  test('is not kept by a library that could not be opened', async () => {
    vi.stubGlobal('indexedDB', undefined);
    expect(await openLibrary(locks)).toEqual({ ok: false, reason: 'storage-refused' });
    await vi.advanceTimersByTimeAsync(0);
    expect(locks.isHeld(LOCK_NAME)).toBe(false);
  });

  test.each<[string, () => void]>([
    ['there is no navigator', () => vi.stubGlobal('navigator', undefined)],
    ['the browser has no locks', () => vi.stubGlobal('navigator', {})],
  ])('stands in nobody’s way where %s', async (_, browser) => {
    browser();
    expect((await openLibrary()).ok).toBe(true);
    expect((await openLibrary()).ok).toBe(true);
  });

  test('stands in nobody’s way where the browser refuses it for itself', async () => {
    const refusing: Locks = { request: () => Promise.reject(new DOMException('', 'SecurityError')) };
    expect((await openLibrary(refusing)).ok).toBe(true);
  });
});
