/**
 * The envelope that ink is drawn from: the level of each step of about 5 ms. Samples may arrive in blocks of any size;
 * the levels are the same for every split, because they are summed one sample after another.
 */
import type { SampleRate } from '../units/index.js';

const STEP_SECONDS = 0.005;

/** Whole frames in one step at this rate. */
export const stepFrames = (rate: SampleRate): number => Math.max(1, Math.round(rate * STEP_SECONDS));

/** Squared amplitudes of one step: the mean tells how much sounds, the highest how loud it looks. */
export interface StepLevel {
  readonly meanSquare: number;
  readonly peakSquare: number;
}

export class Envelope {
  readonly #frames: number;
  readonly #onStep: (level: StepLevel) => void;
  #sum = 0;
  #peak = 0;
  #filled = 0;

  constructor(rate: SampleRate, onStep: (level: StepLevel) => void) {
    this.#frames = stepFrames(rate);
    this.#onStep = onStep;
  }

  /** Calls back once for every step completed. Samples that are not numbers count as silence. */
  add(samples: Float32Array): void {
    for (const sample of samples) {
      const square = Number.isFinite(sample) ? sample * sample : 0;
      this.#sum += square;
      if (square > this.#peak) this.#peak = square;
      this.#filled += 1;
      if (this.#filled === this.#frames) this.#close();
    }
  }

  #close(): void {
    this.#onStep({ meanSquare: this.#sum / this.#filled, peakSquare: this.#peak });
    this.#sum = 0;
    this.#peak = 0;
    this.#filled = 0;
  }
}
