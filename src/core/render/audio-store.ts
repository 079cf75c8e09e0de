/**
 * The audio that voices play: for every handle and channel a table from chunk number to a chunk of the pool. Audio
 * thread; tables are made while a command is handled, so that `process` only looks up and copies.
 */
import type { ChunkPool } from './pool.js';
import { CHUNK_FRAMES } from './pool.js';

/** A chunk that is not here. */
export const MISSING = -1;
/** An hour and a half at 48 kHz: the longest recording that can be played while it is being made. */
const GROWING_CHUNKS = 16_384;

/** One channel of one recording or rendition. */
export class AudioChannel {
  readonly #pool: ChunkPool;
  #table: Int32Array;
  /** Frames from here on have not come in. Only a recording that is being made has an end that moves. */
  availableFrames = Infinity;
  /** True for what is recorded here: it is never asked for. */
  readonly local: boolean;

  constructor(pool: ChunkPool, chunks: number, local: boolean) {
    this.#pool = pool;
    this.local = local;
    this.#table = new Int32Array(chunks).fill(MISSING);
  }

  chunkAt(index: number): number {
    return this.#table[index] ?? MISSING;
  }

  /** Makes room for chunk numbers below `chunks`. Allocates. */
  reserve(chunks: number): void {
    if (chunks <= this.#table.length) return;
    const longer = new Int32Array(chunks).fill(MISSING);
    longer.set(this.#table);
    this.#table = longer;
  }

  /**
   * Copies samples to a place, taking chunks from the pool as needed.
   * @returns false where the pool is empty or the table is full: nothing beyond that place was written.
   */
  write(at: number, samples: Float32Array, from: number, count: number): boolean {
    let done = 0;
    while (done < count) {
      const index = Math.floor((at + done) / CHUNK_FRAMES);
      if (index >= this.#table.length) return false;
      let chunk = this.chunkAt(index);
      if (chunk === MISSING) {
        chunk = this.#pool.take();
        if (chunk === MISSING) return false;
        this.#table[index] = chunk;
      }
      const into = (at + done) % CHUNK_FRAMES;
      const step = Math.min(count - done, CHUNK_FRAMES - into);
      const slab = this.#pool.slabOf(chunk);
      const offset = this.#pool.offsetOf(chunk) + into;
      for (let i = 0; i < step; i++) slab[offset + i] = samples[from + done + i] ?? 0;
      done += step;
    }
    return true;
  }
}

export class AudioStore {
  readonly #pool: ChunkPool;
  readonly #channels = new Map<number, AudioChannel>();

  constructor(pool: ChunkPool) {
    this.#pool = pool;
  }

  /** Audio that exists and is loaded chunk by chunk. Allocates. */
  known(audio: number, channel: number, chunks: number): AudioChannel {
    const key = keyOf(audio, channel);
    let found = this.#channels.get(key);
    if (found === undefined) {
      found = new AudioChannel(this.#pool, chunks, false);
      this.#channels.set(key, found);
    }
    found.reserve(chunks);
    return found;
  }

  /** Audio that is being recorded. Allocates. */
  growing(audio: number, channel: number): AudioChannel {
    const made = new AudioChannel(this.#pool, GROWING_CHUNKS, true);
    made.availableFrames = 0;
    this.#channels.set(keyOf(audio, channel), made);
    return made;
  }

  find(audio: number, channel: number): AudioChannel | undefined {
    return this.#channels.get(keyOf(audio, channel));
  }
}

/** Channels of one input stay far below this. */
const CHANNELS = 64;
const keyOf = (audio: number, channel: number): number => audio * CHANNELS + channel;
