/**
 * What the rehearsal needs of storage. Promises resolve after the transaction is complete with strict durability, or
 * with a reason; they never reject for an expected failure.
 */
import type { JournalledEdit, StoredHistory } from '../core/history/history.js';
import type { Result } from '../core/result/result.js';
import type { RecordingId, SongId } from '../core/song/ids.js';
import type { RecordingHeader, Song } from '../core/song/song.js';
import type { Frames, SampleRate } from '../core/units/index.js';
import type { Pace } from './sound.js';

export type StorageRefusal =
  /** No IndexedDB, a private window, or the player said no. */
  | 'storage-refused'
  | 'storage-full'
  /** Another window holds an older version open. */
  | 'storage-blocked'
  /** Written by a newer version of the program; nothing was touched. */
  | 'newer-version'
  /** Stored data that doesn't parse; nothing was touched. */
  | 'damaged'
  /** Anything else the browser reported. */
  | 'storage-failed';

/** Planar samples: one array a channel, all of the same length. */
export type PlanarAudio = readonly Float32Array[];

export interface RecordingChunk {
  readonly recording: RecordingId;
  /** Counts from 0 without holes. */
  readonly seq: number;
  /** Of the chunk's first frame, from the recording's first frame. */
  readonly start: Frames;
  /** At most half a second. */
  readonly audio: PlanarAudio;
}

/** A round trip that was measured, for the way that sound went then. */
export interface KeptRoundTrip {
  /** Ids of the devices; null for the system's default. */
  readonly inputId: string | null;
  readonly outputId: string | null;
  readonly sampleRate: SampleRate;
  readonly pace: Pace;
  readonly frames: Frames;
  readonly how: 'cable' | 'measured';
  /** ISO 8601, from the clock port. */
  readonly at: string;
}

/** A spare output that a cable joins to a spare input. */
export interface KeptReference {
  /** Of one pair of outputs, the side that the reference leaves by; two pairs need no sides. */
  readonly side: 'left' | 'right';
  /** Input channel that it comes back on, from 0. */
  readonly channel: number;
}

/** What was chosen on this machine, for every song. */
export interface SetUp {
  readonly inputId: string | null;
  readonly outputId: string | null;
  readonly pace: Pace;
  /** One for each way, the newest first. */
  readonly roundTrips: readonly KeptRoundTrip[];
  /** Where one is in use. */
  readonly reference?: KeptReference;
}

export interface Library {
  /** The song edited last, or null in an empty library. */
  latestSong(): Promise<Result<StoredHistory | null, StorageRefusal>>;
  createSong(base: Song, at: string): Promise<Result<null, StorageRefusal>>;
  /** Appends one edit and drops whatever the journal held from its `seq` on; the cursor moves to `seq`. */
  appendEdit(song: SongId, edit: JournalledEdit): Promise<Result<null, StorageRefusal>>;
  moveCursor(song: SongId, cursor: number): Promise<Result<null, StorageRefusal>>;

  beginRecording(header: RecordingHeader): Promise<Result<null, StorageRefusal>>;
  appendChunk(chunk: RecordingChunk): Promise<Result<null, StorageRefusal>>;
  finishRecording(recording: RecordingId, frames: Frames): Promise<Result<null, StorageRefusal>>;
  /**
   * Frames [start, start + count) of one channel; what was never recorded is zeros, and `missing` counts those frames.
   */
  readRecording(
    recording: RecordingId,
    channel: number,
    start: Frames,
    count: Frames,
  ): Promise<Result<{ readonly samples: Float32Array<ArrayBuffer>; readonly missing: Frames }, StorageRefusal>>;
  /** What was kept last; where nothing was, or it cannot be read, the set-up of a new machine. */
  setUp(): Promise<Result<SetUp, StorageRefusal>>;
  keepSetUp(setUp: SetUp): Promise<Result<null, StorageRefusal>>;
  /** Whether the browser has promised not to clear this origin under pressure. */
  isPersistent(): Promise<boolean>;
  /** Asks for that promise. False where it is refused or unknown. */
  requestPersistence(): Promise<boolean>;
  close(): void;
}
