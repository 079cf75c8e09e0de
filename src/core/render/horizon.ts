/**
 * How far ahead audio is needed: five seconds and the time that a round of looking takes. Where the pool is too small for
 * that, as far as it reaches for all voices alike; what stands by gives way first. Pure arithmetic, once a round.
 */
import { CHUNK_FRAMES } from './pool.js';

const SURE_SECONDS = 5;
const ROUND_SECONDS = 0.5;
const STAND_BY_SECONDS = 2;
/** A voice needs the chunk that sounds and the one after it. */
const LEAST_FRAMES = 2 * CHUNK_FRAMES;
/** It grows slowly, and not quite as far as there is room, so that it does not swing. */
const GROWS = 1.1;
const FULL = 0.98;

export class Horizon {
  readonly #sure: number;
  readonly #longest: number;
  readonly #longestStandBy: number;
  #frames: number;
  #standBy: number;

  constructor(rate: number) {
    this.#sure = Math.round(SURE_SECONDS * rate);
    this.#longest = this.#sure + Math.round(ROUND_SECONDS * rate);
    this.#longestStandBy = Math.round(STAND_BY_SECONDS * rate);
    this.#frames = this.#longest;
    this.#standBy = this.#longestStandBy;
  }

  /** What is needed so far ahead is asked for, and kept. */
  get frames(): number {
    return this.#frames;
  }

  /** The same from the top of a program that stands by. */
  get standByFrames(): number {
    return this.#standBy;
  }

  /** A program is ready when so much of it is here. */
  get readyFrames(): number {
    return Math.min(this.#sure, this.#frames);
  }

  /**
   * Fits it to the pool.
   * @param needed chunks that were needed in the last round, for what sounds
   * @param standBy chunks for what stands by, of `waiting` voices
   * @param room chunks that the pool can hold for both
   */
  fit(needed: number, standBy: number, waiting: number, room: number): void {
    const chunks = waiting === 0 ? Infinity : Math.floor((room - needed) / waiting) - 1;
    this.#standBy = Math.max(CHUNK_FRAMES, Math.min(this.#longestStandBy, chunks * CHUNK_FRAMES));
    const all = Math.max(1, needed + Math.min(standBy, waiting * (this.#standBy / CHUNK_FRAMES + 1)));
    const fits = all > room ? room / all : Math.max(1, Math.min(GROWS, (FULL * room) / all));
    this.#frames = Math.max(LEAST_FRAMES, Math.min(this.#longest, Math.floor(this.#frames * fits)));
  }
}
