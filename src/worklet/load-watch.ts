/**
 * How busy the audio thread is, and whether it was called in time, by the system clock: nothing finer exists here. Its
 * ticks are milliseconds and a block takes less than one, so only the sum over many blocks says anything: of each block
 * the clock shows 0 or 1 ms, and 1 in proportion to the time it took. The load is therefore an estimate. When the
 * system's clock is set, a gap may be seen that was none.
 */
import type { CallGap } from '../protocol/wire.js';

/** The shortest time over which a load is estimated. */
const ESTIMATE_SECONDS = 2;
/**
 * Blocks are asked for in bursts, one a base latency. A pause is a gap from max(24 ms, 1.5 × base latency + 8 ms) on:
 * measured, 29 of 30 gaps in the output were found so, without false alarms.
 */
const LEAST_GAP_MS = 24;
const LATENCIES = 1.5;
const MARGIN_MS = 8;
/** Gaps that follow each other within so long are one disturbance. */
const MERGE_MS = 300;
const NO_GAPS: readonly CallGap[] = [];

/** Audio thread; a gap is its only allocation. */
export class LoadWatch {
  readonly #rate: number;
  readonly #now: () => number;
  readonly #gapFrom: number;
  #calledAt: number | null = null;
  #lastGapAt = -Infinity;
  #gaps: CallGap[] | null = null;
  #busyMs = 0;
  #frames = 0;

  /** Part of the time that the blocks took: of the last two seconds or a little more. Null until they have passed. */
  load: number | null = null;
  /** Disturbances since the beginning. */
  gapCount = 0;

  /** @param now milliseconds of the system clock. */
  constructor(rate: number, baseLatencySeconds: number, now: () => number) {
    this.#rate = rate;
    this.#now = now;
    this.#gapFrom = Math.max(LEAST_GAP_MS, LATENCIES * 1000 * baseLatencySeconds + MARGIN_MS);
  }

  /**
   * At the beginning of a call, for the block from an engine frame on.
   * @returns what the clock says.
   */
  begin(frame: number): number {
    const now = this.#now();
    const pause = this.#calledAt === null ? 0 : now - this.#calledAt;
    this.#calledAt = now;
    if (!(pause >= this.#gapFrom)) return now;
    (this.#gaps ??= []).push({ at: frame, milliseconds: pause, endedAt: now });
    if (now - this.#lastGapAt > MERGE_MS) this.gapCount++;
    this.#lastGapAt = now;
    return now;
  }

  /** At the end of a call that rendered `count` frames. */
  end(count: number): void {
    this.#busyMs += Math.max(0, this.#now() - (this.#calledAt ?? 0));
    this.#frames += count;
    const seconds = this.#frames / this.#rate;
    if (seconds < ESTIMATE_SECONDS) return;
    this.load = this.#busyMs / 1000 / seconds;
    this.#busyMs = 0;
    this.#frames = 0;
  }

  /** Every gap since the last call. */
  takeGaps(): readonly CallGap[] {
    const gaps = this.#gaps ?? NO_GAPS;
    this.#gaps = null;
    return gaps;
  }
}
