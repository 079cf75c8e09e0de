/**
 * What the engine asks the page for: the chunks that will sound next, those needed soonest first, and memory for the
 * pool. Memory is secured before a chunk is asked for, so that what comes always has its place; a part of the pool is
 * kept free for what is being recorded. Audio thread; in `process` a report for each request is its only allocation.
 */
import type { Program } from '../program/program.js';
import { frames } from '../units/index.js';
import { Arrivals } from './arrivals.js';
import type { AudioStore } from './audio-store.js';
import type { EngineReport } from './commands.js';
import type { Beginnings, Playing, RoundFound, Voices } from './look-ahead.js';
import { LookAhead } from './look-ahead.js';
import type { ChunkPool } from './pool.js';
import { CHUNK_FRAMES, SLAB_CHUNKS } from './pool.js';
import { Residency } from './residency.js';
import { Wants } from './wants.js';

/** Requests under way at a time: 8 MB. At 48 kHz so many feed a hundred voices from a page that takes 0.4 s to answer. */
const IN_FLIGHT = 128;
/** Requests in one block: a message to the page costs some microseconds. */
const ASKS_A_BLOCK = 16;
/** Chunks copied from one block to the next: 128 kB. */
const COPIES_A_BLOCK = 2;
/** Chunks that are kept free for recording, and how many are cleared for it in a block: 2 MB, eleven seconds. */
const RESERVE = 32;
const CLEARED_A_BLOCK = 8;

/** What the loading looks at. */
export interface LoadingParts {
  readonly pool: ChunkPool;
  readonly store: AudioStore;
  readonly voices: Voices;
  readonly playing: Playing;
  readonly beginnings: Beginnings;
  readonly rate: number;
  readonly report: (report: EngineReport) => void;
}

export class Loading {
  readonly #pool: ChunkPool;
  readonly #store: AudioStore;
  readonly #report: (report: EngineReport) => void;
  readonly #residency: Residency;
  readonly #wants = new Wants(IN_FLIGHT);
  readonly #arrivals = new Arrivals(IN_FLIGHT);
  readonly #lookAhead: LookAhead;
  #inFlight = 0;
  #copiesLeft = COPIES_A_BLOCK;
  #slabAsked = false;
  /** Revisions of programs that are not ready: the one in use, and those that stand by. */
  #revision: number | null = null;
  readonly #standingBy: number[] = [];

  constructor(parts: LoadingParts) {
    this.#pool = parts.pool;
    this.#store = parts.store;
    this.#report = parts.report;
    this.#residency = new Residency(parts.pool.limit);
    this.#lookAhead = new LookAhead(parts, this.#residency, this.#wants, parts.rate);
  }

  /** Another program plays, or would. */
  useProgram(program: Program): void {
    this.#revision = program.revision;
    this.#lookAhead.useProgram(program);
  }

  standBy(slot: number, program: Program): void {
    this.#standingBy.push(program.revision);
    this.#lookAhead.standBy(slot, program);
  }

  /** What plays has changed: everything is looked at anew. Call while handling a command. */
  lookAnew(frame: number): void {
    const found = this.#lookAhead.lookAnew(frame);
    this.#ask(frame);
    this.#reportReady(found, frame);
  }

  /** A chunk has come; it is copied now, or in one of the next blocks. What was not asked for is nobody's. */
  supply(audio: number, channel: number, chunk: number, samples: Float32Array): void {
    const owner = this.#store.find(audio, channel);
    if (owner === undefined || !owner.isAsked(chunk) || this.#arrivals.isFull) return;
    this.#arrivals.add(owner, chunk, samples.length > CHUNK_FRAMES ? samples.subarray(0, CHUNK_FRAMES) : samples);
    this.#copy();
  }

  supplySlab(slab: Float32Array): void {
    this.#pool.addSlab(slab);
    this.#slabAsked = false;
    this.askForMemory();
  }

  /** The page has stored frames [0, stored) of a recording that was made here. */
  settle(audio: number, stored: number): void {
    this.#store.settle(audio, stored, this.#residency);
  }

  /** Once a block, before it is rendered, at the engine frame of its first frame. */
  advance(frame: number, count: number): void {
    this.#copiesLeft = COPIES_A_BLOCK;
    this.#copy();
    this.#clearReserve();
    const isAwaited = this.#revision !== null || this.#standingBy.length > 0;
    const found = this.#lookAhead.advance(frame, count, this.#room, isAwaited);
    this.#ask(frame);
    if (found !== null && isAwaited) this.#reportReady(found, frame);
    this.askForMemory();
  }

  /** Asks for another slab when less than half of one is free. */
  askForMemory(): void {
    if (this.#slabAsked || this.#pool.isWhole || this.#pool.freeChunks >= SLAB_CHUNKS / 2) return;
    this.#slabAsked = true;
    this.#report({ type: 'slab-wanted', chunks: SLAB_CHUNKS });
  }

  /** Chunks that the pool can hold of what can be loaded: without the reserve, and what only the pool has. */
  get #room(): number {
    const pinned = this.#pool.chunks - this.#pool.freeChunks - this.#residency.size - this.#inFlight;
    return this.#pool.limit - RESERVE - pinned;
  }

  #copy(): void {
    while (this.#copiesLeft > 0 && !this.#arrivals.isEmpty) {
      const { index } = this.#arrivals;
      const owner = this.#arrivals.copyFirst();
      this.#arrivals.removeFirst();
      if (owner === null) continue;
      this.#residency.enter(owner.chunkAt(index), owner, index);
      this.#inFlight--;
      this.#copiesLeft--;
    }
  }

  /** Recording comes first: what it takes from the reserve is cleared for it again. */
  #clearReserve(): void {
    if (!this.#pool.isWhole) return;
    for (let cleared = 0; cleared < CLEARED_A_BLOCK && this.#pool.freeChunks < RESERVE; cleared++) {
      const chunk = this.#residency.evict();
      if (chunk < 0) return;
      this.#pool.giveBack(chunk);
    }
  }

  #ask(frame: number): void {
    // A chunk that would have ended before now is of no use; where it is played again, it is found again.
    this.#wants.giveUpBefore(frame - CHUNK_FRAMES);
    for (let asked = 0; asked < ASKS_A_BLOCK && this.#inFlight < IN_FLIGHT && !this.#wants.isEmpty; asked++) {
      const chunk = this.#memoryForOne();
      if (chunk < 0) return;
      const owner = this.#wants.ask(chunk);
      if (owner === null) return this.#pool.giveBack(chunk);
      this.#inFlight++;
      const { audio, channel } = owner;
      this.#report({ type: 'audio-wanted', audio, channel, chunk: this.#wants.asked });
    }
  }

  /** @returns a chunk of the pool; −1 where there is none now. */
  #memoryForOne(): number {
    if (this.#pool.freeChunks > RESERVE) return this.#pool.take();
    return this.#pool.isWhole ? this.#residency.evict() : -1;
  }

  #reportReady(found: RoundFound, frame: number): void {
    // The pool holds no more: nothing is under way, and nothing of it can be let go.
    const stuck = this.#inFlight === 0 && this.#pool.isWhole && !this.#wants.isEmpty;
    if (this.#revision !== null && (found.missing === 0 || stuck)) {
      this.#reportProgram(this.#revision, frame);
      this.#revision = null;
    }
    if (this.#standingBy.length === 0 || (found.missingInStandBy > 0 && !stuck)) return;
    for (const revision of this.#standingBy) this.#reportProgram(revision, frame);
    this.#standingBy.length = 0;
  }

  #reportProgram(revision: number, frame: number): void {
    this.#report({ type: 'program-ready', at: frames(frame), revision });
  }
}
