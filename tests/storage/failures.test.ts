import { beforeEach, describe, expect, test, vi } from 'vitest';
import { frames } from '../../src/core/units/index.js';
import type { Library } from '../../src/ports/library.js';
import { dump, freshBrowser, tamper } from './support/database.js';
import { AT, chunk, ferry, header, openedLibrary, recordingId, songNamed, tempoEdit } from './support/given.js';
import { befall, type Trouble } from './support/trouble.js';
import { asId, type RecordingId } from '../../src/core/song/ids.js';

const DONE = { ok: true, value: null };
const refused = (reason: string) => ({ ok: false, reason });

let library: Library;

beforeEach(async () => {
  freshBrowser();
  library = await openedLibrary();
  await library.createSong(ferry, AT);
  for (const seq of [1, 2, 3]) await library.appendEdit(ferry.id, tempoEdit(seq));
  await library.beginRecording(header());
  await library.appendChunk(chunk(0, 0, 100));
});

type Write = readonly [name: string, requests: number, call: (library: Library) => Promise<unknown>];
const writes: readonly Write[] = [
  ['making a song', 1, (held) => held.createSong(songNamed('pier'), AT)],
  ['appending an edit', 3, (held) => held.appendEdit(ferry.id, tempoEdit(4))],
  ['an edit in place of others', 3, (held) => held.appendEdit(ferry.id, tempoEdit(2, 200))],
  ['moving the cursor', 1, (held) => held.moveCursor(ferry.id, 1)],
  ['beginning a recording', 1, (held) => held.beginRecording(header(1, asId<RecordingId>('recording-2')))],
  ['appending a chunk', 1, (held) => held.appendChunk(chunk(1, 100, 100))],
  ['finishing a recording', 1, (held) => held.finishRecording(recordingId, frames(100))],
];
const troubles: readonly (readonly [Trouble, string])[] = [
  ['refused-for-space', 'storage-full'],
  ['aborted-for-space', 'storage-full'],
  ['interrupted', 'storage-failed'],
];
const everyWrite = writes.flatMap(([name, requests, call]) =>
  Array.from({ length: requests }, (_, which) =>
    troubles.map(([trouble, reason]) => ({ name, requests, call, which, trouble, reason })),
  ).flat(),
);

describe('a write that fails half-way', () => {
  test.each(everyWrite)(
    'changes nothing and says so, and can be tried again: $name, $trouble at request $which',
    async ({ requests, call, which, trouble, reason }) => {
      const before = await dump();
      befall(trouble, which);
      expect(await call(library)).toEqual(refused(reason));
      vi.restoreAllMocks();
      expect(await dump()).toEqual(before);

      const made = befall(trouble, Infinity);
      expect(await call(library)).toEqual(DONE);
      expect(made()).toBe(requests);
      expect(await dump()).not.toEqual(before);
    },
  );

  test('does not hold up the calls that were waiting behind it', async () => {
    befall('refused-for-space', 0);
    const results = await Promise.all([
      library.appendChunk(chunk(1, 100, 100)),
      library.appendEdit(ferry.id, tempoEdit(4)),
      library.appendChunk(chunk(1, 100, 100)),
    ]);
    expect(results).toEqual([refused('storage-full'), DONE, DONE]);
  });
});

describe('a song of a newer version', () => {
  beforeEach(async () => {
    await tamper((store) => store('songs').put({ id: 'ferry', schema: 2, order: 9, form: 'unknown to us' }));
  });

  test.each<[string, (library: Library) => Promise<unknown>]>([
    ['opened', (held) => held.latestSong()],
    ['edited', (held) => held.appendEdit(ferry.id, tempoEdit(2))],
    ['taken back in', (held) => held.moveCursor(ferry.id, 1)],
  ])('is left as it is when it is %s', async (_, call) => {
    const before = await dump();
    expect(await call(library)).toEqual(refused('newer-version'));
    expect(await dump()).toEqual(before);
  });

  test('is told by its base alone, too', async () => {
    await tamper((store) => {
      const row = { id: 'ferry', schema: 1, createdAt: AT, order: 9, cursor: 0, base: { ...ferry, schema: 2 } };
      store('songs').put(row);
    });
    expect(await library.latestSong()).toEqual(refused('newer-version'));
  });
});

describe('damaged rows', () => {
  const row = { id: 'ferry', schema: 1, createdAt: AT, order: 9, cursor: 3, base: ferry };

  test.each<[string, (store: (name: string) => IDBObjectStore) => void]>([
    ['a base that is gone', (store) => store('songs').put({ ...row, base: null })],
    ['a base of another song', (store) => store('songs').put({ ...row, base: songNamed('pier') })],
    ['a cursor beyond the journal', (store) => store('songs').put({ ...row, cursor: 4 })],
    ['a song without a schema', (store) => store('songs').put({ ...row, schema: undefined })],
    ['a song without a place in the order', (store) => store('songs').put({ ...row, order: undefined })],
    ['a song whose place is a word', (store) => store('songs').put({ ...row, order: 'last' })],
    ['a hole in the journal', (store) => store('edits').delete(['ferry', 2])],
    ['an edit before the first', (store) => store('edits').put({ song: 'ferry', ...tempoEdit(0) })],
    ['an edit that is none', (store) => store('edits').put({ song: 'ferry', seq: 2, at: AT, edit: { type: 'guess' } })],
    ['an edit with more in it', (store) => store('edits').put({ song: 'ferry', ...tempoEdit(2), more: 1 })],
  ])('are told as damage, and nothing is touched: %s', async (_, damage) => {
    await tamper(damage);
    const before = await dump();
    expect(await library.latestSong()).toEqual(refused('damaged'));
    expect(await dump()).toEqual(before);
  });

  test('are not written over', async () => {
    await tamper((store) => store('songs').put({ ...row, schema: 'one' }));
    expect(await library.appendEdit(ferry.id, tempoEdit(2))).toEqual(refused('damaged'));
    expect(await library.moveCursor(ferry.id, 1)).toEqual(refused('damaged'));
  });

  test('of a recording’s header are told as damage', async () => {
    await tamper((store) => store('recordings').put({ ...header(), state: 'lost' }));
    expect(await library.appendChunk(chunk(1, 100, 10))).toEqual(refused('damaged'));
    expect(await library.finishRecording(recordingId, frames(100))).toEqual(refused('damaged'));
    expect(await library.readRecording(recordingId, 0, frames(0), frames(10))).toEqual(refused('damaged'));
  });

  test('of one chunk cost that chunk and no other', async () => {
    await library.appendChunk(chunk(1, 100, 100));
    await library.appendChunk(chunk(2, 200, 100));
    const cut = { recording: recordingId, seq: 1, start: 100, frames: 100, channels: 2, samples: new ArrayBuffer(6) };
    await tamper((store) => store('chunks').put(cut));
    const result = await library.readRecording(recordingId, 0, frames(50), frames(200));
    expect(result).toMatchObject({ ok: true, value: { missing: 100 } });
    expect(result.ok && Array.from(result.value.samples, (sample) => sample !== 0)).toEqual(
      Array.from({ length: 200 }, (_, index) => index < 50 || index >= 150),
    );
  });
});
