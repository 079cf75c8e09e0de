/**
 * What comes in, on its way to storage: gathered into chunks of at most half a second and written as they fill. The
 * engine's buffers are only lent, so everything is copied.
 */
import type { Result } from '../core/result/result.js';
import type { RecordingId } from '../core/song/ids.js';
import type { Frames, SampleRate } from '../core/units/index.js';
import { frames } from '../core/units/index.js';
import type { Library, StorageRefusal } from '../ports/library.js';
import type { Keeping } from './keeping.js';

/** Half a second: what a crash may cost at most, and what storage takes in one piece. */
const CHUNK_SECONDS = 0.5;

export class RecordingJournal {
  readonly recording: RecordingId;
  readonly #library: Library;
  readonly #keeping: Keeping;
  readonly #stored: (frames: Frames) => void;
  readonly #chunkFrames: number;
  #gathered: Float32Array<ArrayBuffer>[];
  #filled = 0;
  #start = 0;
  #seq = 0;

  /** @param stored called with the frames that are in storage, from the recording's first on, whenever there are more. */
  constructor(
    recording: RecordingId,
    channels: number,
    rate: SampleRate,
    library: Library,
    keeping: Keeping,
    stored: (frames: Frames) => void,
  ) {
    this.recording = recording;
    this.#library = library;
    this.#keeping = keeping;
    this.#stored = stored;
    this.#chunkFrames = Math.floor(CHUNK_SECONDS * rate);
    this.#gathered = this.#empty(channels);
  }

  /**
   * @param start of these frames in the recording: where it is not where the last ones ended, something is missing
   * between them, and the library will know.
   * @param planar channel c at c × count.
   */
  add(start: Frames, planar: Float32Array, count: number): void {
    if (start !== this.#start + this.#filled) {
      this.flush();
      this.#start = start;
    }
    let done = 0;
    while (done < count) {
      const step = Math.min(count - done, this.#chunkFrames - this.#filled);
      this.#gathered.forEach((channel, c) => {
        channel.set(planar.subarray(c * count + done, c * count + done + step), this.#filled);
      });
      this.#filled += step;
      done += step;
      if (this.#filled === this.#chunkFrames) this.flush();
    }
  }

  /** Writes what has been gathered, however little. */
  flush(): void {
    if (this.#filled === 0) return;
    const audio = this.#gathered.map((channel) => channel.slice(0, this.#filled));
    const chunk = { recording: this.recording, seq: this.#seq, start: frames(this.#start), audio };
    this.#write(frames(this.#start + this.#filled), () => this.#library.appendChunk(chunk));
    this.#seq++;
    this.#start += this.#filled;
    this.#filled = 0;
  }

  finish(length: Frames): void {
    this.flush();
    this.#write(length, () => this.#library.finishRecording(this.recording, length));
  }

  /** @param until frames that are stored once this is done. */
  #write(until: Frames, write: () => Promise<Result<null, StorageRefusal>>): void {
    this.#keeping.enqueue(async () => {
      const result = await write();
      if (result.ok) this.#stored(until);
      return result;
    });
  }

  #empty(channels: number): Float32Array<ArrayBuffer>[] {
    return Array.from({ length: channels }, () => new Float32Array(this.#chunkFrames));
  }
}
