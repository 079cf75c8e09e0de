/**
 * The audio that voices play: for every handle and channel a table from chunk number to a chunk of the pool. Audio
 * thread; tables are made while a command is handled, so that `process` only looks up and copies.
 */
import type { ChunkPool } from './pool.js';
import { CHUNK_FRAMES } from './pool.js';
import type { Residency } from './residency.js';

/** A chunk that is not here. Every number below zero says that; these say what is being done about it. */
export const MISSING = -1;
/** It is on the list of what the page will be asked for. */
export const WANTED = -2;
/** The page was asked for it; `ASKED − chunk` names the chunk of the pool that is kept for it. */
const ASKED = -3;
/** An hour and a half at 48 kHz: the longest recording that can be played while it is being made. */
const GROWING_CHUNKS = 16_384;

/** One channel of one recording. */
export class AudioChannel {
  readonly audio: number;
  readonly channel: number;
  /** True for what is recorded here: it can be asked for only once the page has stored it. */
  readonly local: boolean;
  readonly #pool: ChunkPool;
  #table: Int32Array;
  /** Frames from here on have not come in. Only a recording that is being made has an end that moves. */
  availableFrames = Infinity;
  /** A recording that has ended: beyond its end is silence, not audio that is late. */
  hasEnded = false;
  /** No memory was left for what comes in from `availableFrames` on. */
  foundNoRoom = false;
  /** Chunks of a local recording, from the first on, that are whole and stored: they can be let go and loaded again. */
  #settled = 0;

  constructor(pool: ChunkPool, audio: number, channel: number, chunks: number, local: boolean) {
    this.#pool = pool;
    this.audio = audio;
    this.channel = channel;
    this.local = local;
    this.#table = new Int32Array(chunks).fill(MISSING);
  }

  /** The chunk of the pool that holds a chunk of this audio; below zero where it is not here. */
  chunkAt(index: number): number {
    return this.#table[index] ?? MISSING;
  }

  canBeLoaded(index: number): boolean {
    return !this.local || index < this.#settled;
  }

  isAsked(index: number): boolean {
    return this.chunkAt(index) <= ASKED;
  }

  /** Whether a frame should be here: what lies outside the audio should not, nor what is still on its way from the ring. */
  isDue(frame: number): boolean {
    return frame >= 0 && (frame < this.availableFrames || (this.foundNoRoom && !this.hasEnded));
  }

  /** Makes room for chunk numbers below `chunks`. Allocates. */
  reserve(chunks: number): void {
    if (chunks <= this.#table.length) return;
    const longer = new Int32Array(chunks).fill(MISSING);
    longer.set(this.#table);
    this.#table = longer;
  }

  /** The chunk is not here, or no longer. */
  forget(index: number): void {
    this.#table[index] = MISSING;
  }

  want(index: number): void {
    this.#table[index] = WANTED;
  }

  /** @param chunk of the pool, to hold it when it comes. */
  ask(index: number, chunk: number): void {
    this.#table[index] = ASKED - chunk;
  }

  /**
   * Copies a chunk that was asked for, 64 kB; what is missing at its end is silence.
   * @returns the chunk of the pool that holds it now.
   */
  fill(index: number, samples: Float32Array): number {
    const chunk = ASKED - this.chunkAt(index);
    const slab = this.#pool.slabOf(chunk);
    const offset = this.#pool.offsetOf(chunk);
    slab.set(samples, offset);
    slab.fill(0, offset + samples.length, offset + CHUNK_FRAMES);
    this.#table[index] = chunk;
    return chunk;
  }

  /**
   * Copies what is being recorded to its place, taking chunks from the pool as needed.
   * @returns false where the pool is empty or the table is full: nothing beyond that place was written.
   */
  write(at: number, samples: Float32Array, from: number, count: number): boolean {
    let done = 0;
    while (done < count) {
      const index = Math.floor((at + done) / CHUNK_FRAMES);
      if (index >= this.#table.length) return false;
      let chunk = this.chunkAt(index);
      if (chunk < 0) {
        chunk = this.#pool.take();
        if (chunk < 0) return false;
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

  /** Frames below `stored` are kept by the page: the chunks that they fill may be let go from now on. */
  settle(stored: number, residency: Residency): void {
    const whole = this.hasEnded && stored >= this.availableFrames;
    const frames = Math.min(stored, this.availableFrames);
    const chunks = whole ? Math.ceil(frames / CHUNK_FRAMES) : Math.floor(frames / CHUNK_FRAMES);
    for (; this.#settled < chunks; this.#settled++) {
      const chunk = this.chunkAt(this.#settled);
      if (chunk >= 0) residency.enter(chunk, this, this.#settled);
    }
  }
}

export class AudioStore {
  readonly #pool: ChunkPool;
  readonly #channels = new Map<number, AudioChannel>();

  constructor(pool: ChunkPool) {
    this.#pool = pool;
  }

  /** Whether there is no more memory to wait for. */
  get isWhole(): boolean {
    return this.#pool.isWhole;
  }

  /** Audio that exists and is loaded chunk by chunk. Allocates. */
  known(audio: number, channel: number, chunks: number): AudioChannel {
    const key = keyOf(audio, channel);
    let found = this.#channels.get(key);
    if (found === undefined) {
      found = new AudioChannel(this.#pool, audio, channel, chunks, false);
      this.#channels.set(key, found);
    }
    found.reserve(chunks);
    return found;
  }

  /** Audio that is being recorded. Allocates. */
  growing(audio: number, channel: number): AudioChannel {
    const made = new AudioChannel(this.#pool, audio, channel, GROWING_CHUNKS, true);
    made.availableFrames = 0;
    this.#channels.set(keyOf(audio, channel), made);
    return made;
  }

  find(audio: number, channel: number): AudioChannel | undefined {
    return this.#channels.get(keyOf(audio, channel));
  }

  /** The page has stored frames [0, stored) of a recording that was made here, every channel. */
  settle(audio: number, stored: number, residency: Residency): void {
    for (let channel = 0; channel < CHANNELS; channel++) {
      const found = this.find(audio, channel);
      if (found?.local === true) found.settle(stored, residency);
    }
  }
}

/** Channels of one input stay far below this. */
const CHANNELS = 64;
const keyOf = (audio: number, channel: number): number => audio * CHANNELS + channel;
