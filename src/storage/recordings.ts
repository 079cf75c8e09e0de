/** Recordings on the disk: a header each, and the journal of their chunks. Nothing here deletes or changes audio. */
import * as v from 'valibot';
import type { Result } from '../core/result/result.js';
import { failure, success } from '../core/result/result.js';
import type { RecordingId, SongId } from '../core/song/ids.js';
import type { RecordingHeader } from '../core/song/song.js';
import { type Frames, frames, sampleRate } from '../core/units/index.js';
import type { RecordingChunk, StorageRefusal } from '../ports/library.js';
import { assemble, packChunk, type Range } from './chunks.js';
import type { Connection, Transaction } from './connection.js';
import { identity, quantity } from './document-schema.js';
import {
  expectChannel,
  expectChunk,
  expectHeader,
  expectKeptChunk,
  expectLength,
  isKeptHeader,
  type Place,
} from './rules.js';
import type { RecordingRow } from './schema.js';

type Answer<Value> = Promise<Result<Value, StorageRefusal>>;
type Reading = Transaction<['recordings', 'chunks']>;
type Writing = Transaction<['recordings', 'chunks'], 'readwrite'>;

const header = {
  id: identity<RecordingId>(),
  song: identity<SongId>(),
  sampleRate: quantity(sampleRate),
  channels: v.pipe(v.number(), v.safeInteger(), v.minValue(1)),
  startedAt: v.string(),
};

const recordingSchema = v.variant('state', [
  v.strictObject({ ...header, state: v.literal('open') }),
  v.strictObject({ ...header, state: v.literal('finished'), frames: quantity(frames) }),
]) satisfies v.GenericSchema<unknown, RecordingRow>;

/**
 * Opens a recording for chunks; saying so again is no harm.
 * @throws {LibraryError} for another of the same identity, or without channels.
 */
export function beginRecording(connection: Connection, recording: RecordingHeader): Answer<null> {
  expectHeader(recording);
  const { id, song, sampleRate, channels, startedAt } = recording;
  return connection.write(['recordings', 'chunks'], async (transaction) => {
    const kept = await readHeader(transaction, id);
    if (!kept.ok) return kept;
    if (isKeptHeader(recording, kept.value)) return success(null);
    await transaction.objectStore('recordings').add({ id, song, sampleRate, channels, startedAt, state: 'open' });
    return success(null);
  });
}

/**
 * Adds a chunk behind the last, in a transaction of its own. One that is there already, sample for sample, is no harm: a
 * write whose answer was lost is tried again. @throws {LibraryError} for one that doesn't fit there.
 */
export function appendChunk(connection: Connection, chunk: RecordingChunk): Answer<null> {
  const row = packChunk(chunk);
  return connection.write(['recordings', 'chunks'], async (transaction) => {
    const recording = await readHeader(transaction, row.recording);
    if (!recording.ok) return recording;
    if (recording.value === null) return failure('storage-failed');
    const newest = await newestChunk(transaction, row.recording);
    if (newest !== null && row.seq <= newest.seq) {
      expectKeptChunk(row, await transaction.objectStore('chunks').get([row.recording, row.seq]));
      return success(null);
    }
    expectChunk(row, recording.value, newest);
    await transaction.objectStore('chunks').add(row);
    return success(null);
  });
}

/** Says that a recording is whole; saying so again is no harm. @throws {LibraryError} for a length that cannot be. */
export function finishRecording(connection: Connection, recording: RecordingId, length: Frames): Answer<null> {
  return connection.write(['recordings', 'chunks'], async (transaction) => {
    const row = await readHeader(transaction, recording);
    if (!row.ok) return row;
    if (row.value === null) return failure('storage-failed');
    expectLength(length, row.value, await newestChunk(transaction, recording));
    await transaction.objectStore('recordings').put({ ...row.value, state: 'finished', frames: length });
    return success(null);
  });
}

/** Frames of one channel; of a recording that is not there, all are missing. @throws {LibraryError} for no such channel. */
export function readRecording(
  connection: Connection,
  recording: RecordingId,
  channel: number,
  start: Frames,
  count: Frames,
): Answer<Range> {
  return connection.read(['recordings', 'chunks'], async (transaction) => {
    const row = await readHeader(transaction, recording);
    if (!row.ok) return row;
    if (row.value === null) return success(assemble([], channel, start, count));
    expectChannel(channel, row.value);
    return success(assemble(await chunksWithin(transaction, recording, start, count), channel, start, count));
  });
}

async function readHeader(
  transaction: Reading | Writing,
  recording: RecordingId,
): Promise<Result<RecordingRow | null, StorageRefusal>> {
  const row: unknown = await transaction.objectStore('recordings').get(recording);
  if (row === undefined) return success(null);
  const parsed = v.safeParse(recordingSchema, row);
  return parsed.success ? success(parsed.output) : failure('damaged');
}

async function newestChunk(transaction: Writing, recording: RecordingId): Promise<Place | null> {
  const range = IDBKeyRange.bound([recording], [recording, Infinity]);
  const newest = await transaction.objectStore('chunks').index('by-place').openKeyCursor(range, 'prev');
  if (newest === null) return null;
  const [, start, frames] = newest.key;
  return { seq: newest.primaryKey[1], start, frames };
}

/** The stored chunks that hold frames of [start, start + count), in order, and no others. */
async function chunksWithin(
  transaction: Reading,
  recording: RecordingId,
  start: Frames,
  count: Frames,
): Promise<readonly unknown[]> {
  if (start + count <= 0 || count <= 0) return [];
  const places = transaction.objectStore('chunks').index('by-place');
  // Chunks don't overlap: of those that start before the first frame, only the last can reach it.
  const before = IDBKeyRange.bound([recording], [recording, Math.max(start, 0)], false, true);
  const last = (await places.openKeyCursor(before, 'prev'))?.key;
  const from = last !== undefined && last[1] + last[2] > start ? last[1] : start;
  return await places.getAll(IDBKeyRange.bound([recording, from], [recording, start + count], false, true));
}
