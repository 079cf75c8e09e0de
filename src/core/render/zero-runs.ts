/**
 * Runs of exactly zero samples in the input, in all channels at once: what a browser puts in where its queue ran dry.
 * Quiet rooms through coarse converters have short ones too. Audio thread; a run is its only allocation.
 */
import type { ZeroRun } from '../watch/observations.js';
import { frames } from '../units/index.js';

/** Shorter runs are left out. */
const ZERO_RUN_FRAMES = 64;
/** Most runs between two calls of `take`; more are left out. */
const MOST = 16;
const NONE: readonly ZeroRun[] = [];

export class ZeroRuns {
  #length = 0;
  #runs: ZeroRun[] | null = null;

  /** Takes `count` frames that came in from engine frame `at` on. A channel that is missing is silence. */
  push(input: readonly Float32Array[], at: number, count: number): void {
    for (let i = 0; i < count; i++) {
      if (isZero(input, i)) {
        this.#length++;
        continue;
      }
      if (this.#length >= ZERO_RUN_FRAMES) this.#add(at + i);
      this.#length = 0;
    }
  }

  /** Every run that has ended since the last call, oldest first. */
  take(): readonly ZeroRun[] {
    const runs = this.#runs ?? NONE;
    this.#runs = null;
    return runs;
  }

  #add(end: number): void {
    const runs = (this.#runs ??= []);
    if (runs.length < MOST)
      runs.push({ type: 'zero-run', from: frames(end - this.#length), frames: frames(this.#length) });
  }
}

function isZero(input: readonly Float32Array[], i: number): boolean {
  for (let c = 0; c < input.length; c++) if ((input[c]?.[i] ?? 0) !== 0) return false;
  return true;
}
