/** Songs, edits and sound of the harbour ferry scenario, and a ramp that says of every sample which one it is. */
import type { JournalledEdit } from '../../../src/core/history/history.js';
import type { Result } from '../../../src/core/result/result.js';
import type { Edit } from '../../../src/core/song/edits.js';
import { asId, type RecordingId, type SectionId, type SongId } from '../../../src/core/song/ids.js';
import { newSong } from '../../../src/core/song/new-song.js';
import type { RecordingHeader, Song } from '../../../src/core/song/song.js';
import { bpm, frames, sampleRate } from '../../../src/core/units/index.js';
import type { Library, RecordingChunk } from '../../../src/ports/library.js';
import { openLibrary } from '../../../src/storage/library.js';

export const AT = '2031-05-04T19:30:00.000Z';
/** Low, so that half a second is few frames. */
const RATE = sampleRate(1000);
export const HALF_A_SECOND = 500;

export const songNamed = (id: string): Song =>
  newSong({ id: asId<SongId>(id), sectionId: asId<SectionId>(`${id}-a`), title: `The ${id}`, sampleRate: RATE });

export const ferry = songNamed('ferry');

export const tempoEdit = (seq: number, value = 60 + seq): JournalledEdit => ({
  seq,
  edit: { type: 'set-tempo', bpm: bpm(value) } satisfies Edit,
  at: AT,
});

export const recordingId = asId<RecordingId>('recording-1');

export const header = (channels = 2, id: RecordingId = recordingId): RecordingHeader => ({
  id,
  song: ferry.id,
  sampleRate: RATE,
  channels,
  startedAt: AT,
});

/** What channel `channel` of every recording holds at frame `frame`: exact in 32 bits, and never zero. */
export const sampleAt = (channel: number, frame: number): number => (channel + 1) * 65_536 + frame;

export const chunk = (seq: number, start: number, length: number, channels = 2, id = recordingId): RecordingChunk => ({
  recording: id,
  seq,
  start: frames(start),
  audio: Array.from({ length: channels }, (_, channel) =>
    Float32Array.from({ length }, (_sample, index) => sampleAt(channel, start + index)),
  ),
});

/** The value of a result that must be one. */
export async function valueOf<Value>(result: Promise<Result<Value, unknown>> | Result<Value, unknown>): Promise<Value> {
  const settled = await result;
  if (!settled.ok) throw new Error(`Got ${String(settled.reason)} when expected a value.`);
  return settled.value;
}

/** Without the lock that keeps other windows out: each test is a browser of its own. */
export const openedLibrary = (): Promise<Library> => valueOf(openLibrary(null));
