/**
 * The reference: a short sequence at every bar line, several of which take turns, for a spare output that a cable joins to a spare input. Found again
 * in what came in, it tells the round trip of that very bar. It passes no limiter, so it is late by the look-ahead here,
 * as everything else is. What sounds at a position is a function of the position. Audio thread; allocates in the
 * constructor only.
 */
import type { ProgramGrid } from '../program/program-grid.js';

export class ReferenceTrack {
  readonly #lookAhead: number;
  #samples: Float32Array | null = null;
  #length = 0;
  #turns = 1;

  /** @param lookAhead frames of the limiters beside it. */
  constructor(lookAhead: number) {
    this.#lookAhead = lookAhead;
  }

  /**
   * Null: none. A sequence that sounds is cut where it is.
   * @param turns so many sequences of one length, one after the other: bar n from the origin gets the (n mod turns)-th.
   */
  use(samples: Float32Array | null, turns: number): void {
    this.#samples = samples;
    this.#turns = Math.max(1, turns);
    this.#length = Math.floor((samples?.length ?? 0) / this.#turns);
  }

  /** Writes engine frames [frame, frame + count): the sequence of every line from `startsAt` on; position 0 is at `origin`. */
  fill(
    grid: ProgramGrid | null,
    origin: number,
    startsAt: number,
    frame: number,
    count: number,
    into: Float32Array,
  ): void {
    into.fill(0, 0, count);
    const samples = this.#samples;
    if (samples === null || grid === null) return;
    const from = frame - this.#lookAhead;
    const earliest = Math.max(startsAt, from - this.#length + 1);
    if (earliest >= from + count) return;
    const lastBar = Math.min(grid.barAt(from + count - 1 - origin), grid.endBar - 1);
    for (let bar = grid.barAt(earliest - origin); bar <= lastBar; bar++) {
      const line = origin + grid.pulseOf(bar, 0);
      if (line < startsAt) continue;
      const turn = this.#length * (((bar % this.#turns) + this.#turns) % this.#turns);
      const end = Math.min(from + count, line + this.#length);
      for (let at = Math.max(from, line); at < end; at++) into[at - from] = samples[turn + at - line] ?? 0;
    }
  }
}
