/**
 * How late the calls come, by the system clock. Blocks are asked for in bursts, and only the first call of a burst is
 * timed by the device; the mean of many says more than the clock's ticks of a millisecond do. Audio thread; a reading is
 * its only allocation.
 */
import type { CallPhase } from '../protocol/wire.js';

/** A call begins a burst when it comes so long after the one before: half a base latency, and more than a tick. */
const LATENCIES = 0.5;
const LEAST_MS = 1.5;

export class PhaseWatch {
  readonly #framesPerMs: number;
  readonly #pauseFrom: number;
  #began: number | null = null;
  #calledAt = 0;
  #sum = 0;
  #count = 0;
  #lastAt = 0;

  constructor(rate: number, baseLatencySeconds: number) {
    this.#framesPerMs = rate / 1000;
    this.#pauseFrom = Math.max(LEAST_MS, LATENCIES * 1000 * baseLatencySeconds);
  }

  /** A call at a moment of the system clock, ms, for the block from an engine frame on. */
  take(now: number, frame: number): void {
    this.#began ??= now;
    const pause = now - this.#calledAt;
    this.#calledAt = now;
    if (pause < this.#pauseFrom) return;
    this.#sum += (now - this.#began) * this.#framesPerMs - frame;
    this.#count++;
    this.#lastAt = now;
  }

  /** Of the bursts since the last call of this; null where none has begun. */
  takePhase(): CallPhase | null {
    if (this.#count === 0) return null;
    const phase = { at: this.#lastAt, behind: this.#sum / this.#count };
    this.#sum = 0;
    this.#count = 0;
    return phase;
  }
}
