/**
 * The envelope that ink is drawn from: the level of each step of about 5 ms. Samples may arrive in blocks of any size;
 * the levels are the same for every split, because they are summed one sample after another.
 */
import type { SampleRate } from '../units/index.js';

const STEP_SECONDS = 0.005;

/** Whole frames in one step at this rate. */
export const stepFrames = (rate: SampleRate): number => Math.max(1, Math.round(rate * STEP_SECONDS));

/** How much of the sample before is taken off: the highs, in which an attack shows first, count more than the lows. */
const TILT = 0.9;

/** Squared amplitudes of one step. */
export interface StepLevel {
  /** How much sounds. */
  readonly meanSquare: number;
  /** The same with the highs brought out: how much is struck. */
  readonly struckSquare: number;
  /** How loud it looks. */
  readonly peakSquare: number;
}

export class Envelope {
  readonly #frames: number;
  readonly #onStep: (level: StepLevel) => void;
  #sum = 0;
  #struck = 0;
  #before = 0;
  #peak = 0;
  #filled = 0;

  constructor(rate: SampleRate, onStep: (level: StepLevel) => void) {
    this.#frames = stepFrames(rate);
    this.#onStep = onStep;
  }

  /** Calls back once for every step completed. Samples that are not numbers count as silence. */
  add(samples: Float32Array): void {
    for (const sample of samples) {
      const value = Number.isFinite(sample) ? sample : 0;
      const square = value * value;
      this.#sum += square;
      this.#struck += (value - TILT * this.#before) ** 2;
      this.#before = value;
      if (square > this.#peak) this.#peak = square;
      this.#filled += 1;
      if (this.#filled === this.#frames) this.#close();
    }
  }

  #close(): void {
    this.#onStep({
      meanSquare: this.#sum / this.#frames,
      struckSquare: this.#struck / this.#frames,
      peakSquare: this.#peak,
    });
    this.#sum = 0;
    this.#struck = 0;
    this.#peak = 0;
    this.#filled = 0;
  }
}
