/**
 * Turns the reductions that single frames need into one smooth gain: held for as long as a frame is in the window,
 * released exponentially, then averaged by two boxes in a row, so that the gain bends instead of jumping and has
 * arrived when the loud frame does.
 *
 * The averages run over whole numbers: sums of doubles would drift with time, and these come back to exactly nothing.
 * So the gain is exactly 1 whenever nothing is to be reduced, and any split into blocks gives the same.
 */
import { WindowMaximum } from './window-maximum.js';

/** Reductions are whole numbers of this step, rounded up: the gain is never above what was asked for. */
const STEPS = 2 ** 32;
/** A reduction under −144 dB is over: no 32-bit sample of music can tell it from none. */
const OVER = 2 ** -24;

/** Any thread; allocates in the constructor only. */
export class GainRide {
  readonly #held: WindowMaximum;
  readonly #decay: number;
  readonly #first: MovingSum;
  readonly #second: MovingSum;
  /** What both sums together make of a reduction of 1. */
  readonly #full: number;
  #released = 0;

  /**
   * @param hold frames for which a reduction stays in full
   * @param smooth frames over which the gain moves there, two or more
   * @param release frames in which a reduction falls to 1/e
   */
  constructor(hold: number, smooth: number, release: number) {
    this.#held = new WindowMaximum(hold);
    this.#decay = Math.exp(-1 / release);
    const first = Math.ceil((smooth + 1) / 2);
    const second = smooth + 1 - first;
    this.#first = new MovingSum(first);
    this.#second = new MovingSum(second);
    this.#full = first * second * STEPS;
  }

  /**
   * Takes in the reduction (0 none … 1 silence) that the newest frame needs; answers the gain. It is at or under
   * 1 − reduction from `smooth − 1` to `hold − 1` frames later.
   */
  push(reduction: number): number {
    const released = this.#released * this.#decay;
    this.#released = Math.max(this.#held.push(reduction), released < OVER ? 0 : released);
    const sum = this.#second.push(this.#first.push(Math.ceil(this.#released * STEPS)));
    return (this.#full - sum) / this.#full;
  }

  reset(): void {
    this.#held.reset();
    this.#first.reset();
    this.#second.reset();
    this.#released = 0;
  }
}

/** Sum of the last so many whole numbers; exact while it stays a safe integer. */
class MovingSum {
  readonly #values: Float64Array;
  #next = 0;
  #sum = 0;

  constructor(length: number) {
    this.#values = new Float64Array(length);
  }

  push(value: number): number {
    this.#sum += value - (this.#values[this.#next] ?? 0);
    this.#values[this.#next] = value;
    if (++this.#next === this.#values.length) this.#next = 0;
    return this.#sum;
  }

  reset(): void {
    this.#values.fill(0);
    this.#next = 0;
    this.#sum = 0;
  }
}
