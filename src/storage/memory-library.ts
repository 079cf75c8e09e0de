/**
 * A library in memory, for when the browser gives no storage: the player works on, and nothing is there after a reload.
 * It behaves as the one on the disk does (one suite of contract tests holds both), save that it cannot fail.
 */
import type { JournalledEdit, StoredHistory } from '../core/history/history.js';
import type { Result } from '../core/result/result.js';
import { failure, success } from '../core/result/result.js';
import type { RecordingId, SongId } from '../core/song/ids.js';
import type { RecordingHeader, Song } from '../core/song/song.js';
import type { Frames } from '../core/units/index.js';
import type { Library, RecordingChunk, SetUp, StorageRefusal } from '../ports/library.js';
import { assemble, packChunk, type Range } from './chunks.js';
import { expectThat } from './library-error.js';
import {
  expectChannel,
  expectChunk,
  expectCursor,
  expectEdit,
  expectHeader,
  expectKeptChunk,
  expectLength,
  expectSong,
  isKeptHeader,
} from './rules.js';
import type { ChunkRow, RecordingRow } from './schema.js';
import { NEW_SET_UP } from './new-set-up.js';

type Answer<Value> = Result<Value, StorageRefusal>;

interface Recording {
  readonly row: RecordingRow;
  readonly chunks: readonly ChunkRow[];
}

/** An empty library that lives as long as the page. */
export function openMemoryLibrary(): Library {
  const memory = new Memory();
  return {
    latestSong: () => promise(() => memory.latestSong()),
    createSong: (base) => promise(() => memory.createSong(base)),
    appendEdit: (song, edit) => promise(() => memory.appendEdit(song, edit)),
    moveCursor: (song, cursor) => promise(() => memory.moveCursor(song, cursor)),
    beginRecording: (header) => promise(() => memory.beginRecording(header)),
    appendChunk: (chunk) => promise(() => memory.appendChunk(chunk)),
    finishRecording: (recording, frames) => promise(() => memory.finishRecording(recording, frames)),
    readRecording: (recording, channel, start, count) =>
      promise(() => memory.readRecording(recording, channel, start, count)),
    setUp: () => promise(() => memory.setUp()),
    keepSetUp: (setUp) => promise(() => memory.keepSetUp(setUp)),
    isPersistent: () => Promise.resolve(false),
    requestPersistence: () => Promise.resolve(false),
    close: () => {
      memory.close();
    },
  };
}

/** Does at once what the library promises. */
class Memory {
  /** In the order of their last change. */
  readonly #songs = new Map<SongId, StoredHistory>();
  readonly #recordings = new Map<RecordingId, Recording>();
  #setUp: SetUp = NEW_SET_UP;
  #closed = false;

  latestSong(): Answer<StoredHistory | null> {
    this.#expectOpen();
    return success([...this.#songs.values()].at(-1) ?? null);
  }

  createSong(base: Song): Answer<null> {
    this.#expectOpen();
    expectSong(base);
    expectThat(!this.#songs.has(base.id), `Got song ${base.id} twice when expected a new one.`);
    return this.#keep({ base, edits: [], cursor: 0 });
  }

  appendEdit(song: SongId, edit: JournalledEdit): Answer<null> {
    this.#expectOpen();
    const old = this.#songs.get(song);
    if (old === undefined) return failure('storage-failed');
    expectEdit(edit, old.edits.length);
    return this.#keep({ base: old.base, edits: [...old.edits.slice(0, edit.seq - 1), edit], cursor: edit.seq });
  }

  moveCursor(song: SongId, cursor: number): Answer<null> {
    this.#expectOpen();
    const old = this.#songs.get(song);
    if (old === undefined) return failure('storage-failed');
    expectCursor(cursor, old.edits.length);
    return this.#keep({ ...old, cursor });
  }

  beginRecording(header: RecordingHeader): Answer<null> {
    this.#expectOpen();
    expectHeader(header);
    if (isKeptHeader(header, this.#recordings.get(header.id)?.row ?? null)) return success(null);
    this.#recordings.set(header.id, { row: { ...header, state: 'open' }, chunks: [] });
    return success(null);
  }

  appendChunk(chunk: RecordingChunk): Answer<null> {
    this.#expectOpen();
    const packed = packChunk(chunk);
    const recording = this.#recordings.get(chunk.recording);
    if (recording === undefined) return failure('storage-failed');
    const { row, chunks } = recording;
    const newest = chunks.at(-1) ?? null;
    if (newest !== null && packed.seq <= newest.seq) {
      expectKeptChunk(packed, chunks[packed.seq]);
      return success(null);
    }
    expectChunk(packed, row, newest);
    this.#recordings.set(row.id, { row, chunks: [...chunks, packed] });
    return success(null);
  }

  finishRecording(id: RecordingId, frames: Frames): Answer<null> {
    this.#expectOpen();
    const recording = this.#recordings.get(id);
    if (recording === undefined) return failure('storage-failed');
    const { row, chunks } = recording;
    expectLength(frames, row, chunks.at(-1) ?? null);
    this.#recordings.set(id, { row: { ...row, state: 'finished', frames }, chunks });
    return success(null);
  }

  readRecording(id: RecordingId, channel: number, start: Frames, count: Frames): Answer<Range> {
    this.#expectOpen();
    const recording = this.#recordings.get(id);
    if (recording !== undefined) expectChannel(channel, recording.row);
    const within = (chunk: ChunkRow) => chunk.start < start + count && chunk.start + chunk.frames > start;
    return success(assemble(recording?.chunks.filter(within) ?? [], channel, start, count));
  }

  setUp(): Answer<SetUp> {
    this.#expectOpen();
    return success(this.#setUp);
  }

  keepSetUp(setUp: SetUp): Answer<null> {
    this.#expectOpen();
    this.#setUp = setUp;
    return success(null);
  }

  close(): void {
    this.#closed = true;
  }

  #keep(song: StoredHistory): Answer<null> {
    this.#songs.delete(song.base.id);
    this.#songs.set(song.base.id, song);
    return success(null);
  }

  #expectOpen(): void {
    expectThat(!this.#closed, 'Got a call after close when expected none.');
  }
}

function promise<Value>(work: () => Value): Promise<Value> {
  return new Promise((resolve) => {
    resolve(work());
  });
}
