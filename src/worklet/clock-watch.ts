/**
 * Compares the engine's frames with the context's, and keeps the peak of the input. Audio thread; a reading every few
 * blocks is its only allocation.
 */
import type { ClockReading } from '../protocol/wire.js';

/** Blocks between two readings: 21 ms at 48 kHz in blocks of 128. */
const READING_BLOCKS = 8;
/** Blocks over which the greatest offset is taken: the context's clock freezes for about four and then catches up. */
const WINDOW_BLOCKS = 64;

export class ClockWatch {
  readonly #ahead = new Float64Array(WINDOW_BLOCKS).fill(-Infinity);
  #blocks = 0;
  #peak = 0;

  /** @returns a reading at every READING_BLOCKS-th call, else null. */
  read(contextFrame: number, engineFrame: number, input: readonly Float32Array[]): ClockReading | null {
    this.#ahead[this.#blocks % WINDOW_BLOCKS] = contextFrame - engineFrame;
    this.#blocks++;
    for (const channel of input) this.#peakOf(channel);
    if (this.#blocks % READING_BLOCKS !== 0) return null;
    let contextAhead = -Infinity;
    for (const ahead of this.#ahead) contextAhead = Math.max(contextAhead, ahead);
    const reading: ClockReading = { type: 'clock', rendered: engineFrame, contextAhead, inputPeak: this.#peak };
    this.#peak = 0;
    return reading;
  }

  #peakOf(channel: Float32Array): void {
    for (const sample of channel) this.#peak = Math.max(this.#peak, Math.abs(sample));
  }
}
