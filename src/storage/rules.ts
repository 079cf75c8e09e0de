/** What a caller of a library owes, checked before anything is written; the same for the disk and for memory. */
import * as v from 'valibot';
import type { JournalledEdit } from '../core/history/history.js';
import { songFault } from '../core/song/invariants.js';
import type { RecordingHeader, Song } from '../core/song/song.js';
import type { Frames } from '../core/units/index.js';
import { isSameChunk } from './chunks.js';
import { journalledEditSchema, songSchema } from './document-schema.js';
import { expectThat } from './library-error.js';
import type { ChunkRow, RecordingRow } from './schema.js';

/** Where the newest chunk of a recording lies. */
export interface Place {
  readonly seq: number;
  readonly start: number;
  readonly frames: number;
}

/** @throws {LibraryError} for a song that could not be opened again. */
export function expectSong(base: Song): void {
  expectThat(v.is(songSchema, base), 'Got a song of another form when expected one of the present schema.');
  const fault = songFault(base);
  expectThat(fault === null, fault ?? '');
}

/** @throws {LibraryError} for an edit of another form, or one that leaves a hole after the `last` in the journal. */
export function expectEdit(edit: JournalledEdit, last: number): void {
  expectThat(v.is(journalledEditSchema, edit), 'Got an edit of another form when expected one of the present schema.');
  expectThat(
    edit.seq >= 1 && edit.seq <= last + 1,
    `Got edit ${edit.seq} when expected one from 1 to ${last + 1}, without a hole.`,
  );
}

/** @throws {LibraryError} for a cursor outside the journal, whose newest edit is `last`. */
export function expectCursor(cursor: number, last: number): void {
  expectThat(
    Number.isInteger(cursor) && cursor >= 0 && cursor <= last,
    `Got cursor ${cursor} when expected 0 to ${last}.`,
  );
}

/** @throws {LibraryError} for a recording without channels. */
export function expectHeader({ channels }: RecordingHeader): void {
  expectThat(Number.isInteger(channels) && channels >= 1, `Got ${channels} channels when expected one or more.`);
}

/**
 * Whether a recording is there already, in the form in which it is given.
 * @throws {LibraryError} where another has its identity.
 */
export function isKeptHeader(header: RecordingHeader, kept: RecordingHeader | null): boolean {
  if (kept === null) return false;
  const same = (['song', 'sampleRate', 'channels', 'startedAt'] as const).every((key) => header[key] === kept[key]);
  expectThat(same, `Got recording ${header.id} in another form when expected the one that is there, or a new one.`);
  return true;
}

/** @throws {LibraryError} unless a chunk is the one that is there under its number, sample for sample. */
export function expectKeptChunk(chunk: ChunkRow, kept: unknown): void {
  expectThat(isSameChunk(chunk, kept), `Got chunk ${chunk.seq} in another form when expected the one that is there.`);
}

/** @throws {LibraryError} for a chunk that does not continue its recording, or of more than half a second. */
export function expectChunk(chunk: ChunkRow, recording: RecordingRow, newest: Place | null): void {
  const next = newest === null ? 0 : newest.seq + 1;
  const end = newest === null ? 0 : newest.start + newest.frames;
  const most = recording.sampleRate / 2;
  expectThat(recording.state === 'open', 'Got a chunk of a finished recording when expected an open one.');
  expectThat(chunk.seq === next, `Got chunk ${chunk.seq} when expected ${next}.`);
  expectThat(chunk.start >= end, `Got a chunk from frame ${chunk.start} when expected one from ${end} or later.`);
  expectThat(chunk.frames <= most, `Got a chunk of ${chunk.frames} frames when expected ${most} at most.`);
  expectThat(
    chunk.channels === recording.channels,
    `Got a chunk of ${chunk.channels} channels when expected ${recording.channels}.`,
  );
}

/** @throws {LibraryError} for a length that cuts off what is there, or another one than was set before. */
export function expectLength(frames: Frames, recording: RecordingRow, newest: Place | null): void {
  const end = newest === null ? 0 : newest.start + newest.frames;
  expectThat(frames >= end, `Got a recording of ${frames} frames when expected ${end} or more.`);
  if (recording.state === 'open') return;
  expectThat(
    frames === recording.frames,
    `Got ${frames} frames for a finished recording when expected its ${recording.frames}.`,
  );
}

/** @throws {LibraryError} for a channel that the recording does not have. */
export function expectChannel(channel: number, { channels }: RecordingHeader): void {
  expectThat(
    Number.isInteger(channel) && channel >= 0 && channel < channels,
    `Got channel ${channel} when expected 0 to ${channels - 1}.`,
  );
}
