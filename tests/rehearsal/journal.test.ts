import { expect, test } from 'vitest';
import { failure } from '../../src/core/result/result.js';
import { asId } from '../../src/core/song/ids.js';
import type { RecordingId, SongId } from '../../src/core/song/ids.js';
import { frames, sampleRate } from '../../src/core/units/index.js';
import type { Library } from '../../src/ports/library.js';
import { RecordingJournal } from '../../src/rehearsal/journal.js';
import { Keeping } from '../../src/rehearsal/keeping.js';
import { openMemoryLibrary } from '../../src/storage/memory-library.js';

const RATE = sampleRate(48_000);
const HALF = 24_000;
const id = asId<RecordingId>('recording');

/** A journal over a library, and what it says is stored. */
async function journal(library: Library) {
  const keeping = new Keeping(null, () => undefined);
  const stored: number[] = [];
  const header = {
    id,
    song: asId<SongId>('song'),
    sampleRate: RATE,
    channels: 1,
    startedAt: '2026-01-01T00:00:00.000Z',
  };
  await library.beginRecording(header);
  const made = new RecordingJournal(id, 1, RATE, library, keeping, (until) => stored.push(until));
  return { made, keeping, stored };
}

test('what storage has taken is told of, chunk by chunk, and the whole at the end', async () => {
  const { made, keeping, stored } = await journal(openMemoryLibrary());
  made.add(frames(0), new Float32Array(HALF + 5000), HALF + 5000);
  expect(stored).toEqual([]);
  await keeping.settled();
  expect(stored).toEqual([HALF]);
  made.finish(frames(HALF + 5000));
  await keeping.settled();
  expect(stored).toEqual([HALF, HALF + 5000, HALF + 5000]);
});

test('what storage refused is told of only when it was taken after all', async () => {
  const library = openMemoryLibrary();
  let isFull = true;
  const refusing: Library = {
    ...library,
    appendChunk: (chunk) => (isFull ? Promise.resolve(failure('storage-full')) : library.appendChunk(chunk)),
  };
  const { made, keeping, stored } = await journal(refusing);
  made.add(frames(0), new Float32Array(HALF), HALF);
  await keeping.settled();
  expect(stored).toEqual([]);
  isFull = false;
  made.add(frames(HALF), new Float32Array(HALF), HALF);
  await keeping.settled();
  expect(stored).toEqual([HALF, 2 * HALF]);
});
