/** Peak meter of one channel: the highest sample of the last block, and the highest of late, held for the eye. */
import type { SampleRate } from '../units/index.js';

/** Own choice: long enough to be read, short enough to belong to what is heard. */
const HOLD_SECONDS = 1.5;

/** Audio thread; allocates nothing. Sample peaks, not true peaks: those are the limiter's business. */
export class PeakMeter {
  readonly #holdFrames: number;
  #peak = 0;
  #held = 0;
  #heldFor = 0;

  constructor(rate: SampleRate) {
    this.#holdFrames = HOLD_SECONDS * rate;
  }

  /** Highest magnitude in the last block, linear. */
  get peak(): number {
    return this.#peak;
  }

  /** The highest magnitude of late, linear; held 1.5 s to the block, then falls to the present peak. */
  get held(): number {
    return this.#held;
  }

  /** Takes in a block of `frames` samples. What is not finite is passed over. */
  process(samples: Float32Array, frames: number): void {
    let peak = 0;
    for (let i = 0; i < frames; i++) {
      const magnitude = Math.abs(samples[i] ?? 0);
      if (magnitude > peak && magnitude !== Infinity) peak = magnitude;
    }
    this.#peak = peak;
    this.#heldFor += frames;
    if (peak >= this.#held || this.#heldFor > this.#holdFrames) {
      this.#held = peak;
      this.#heldFor = 0;
    }
  }

  reset(): void {
    this.#peak = 0;
    this.#held = 0;
    this.#heldFor = 0;
  }
}
