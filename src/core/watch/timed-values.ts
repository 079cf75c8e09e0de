/** The last values of something that is read again and again, with their times. Values may come a little out of order. */

/** Holds 512 readings: ten seconds of one every 20 ms. */
const CAPACITY = 512;

export interface Summary {
  readonly count: number;
  readonly value: number;
  /** The mean of their times, ms. */
  readonly at: number;
}

export class TimedValues {
  readonly #times = new Float64Array(CAPACITY).fill(NaN);
  readonly #values = new Float64Array(CAPACITY);
  #next = 0;
  /** The latest time, ms. */
  latest = -Infinity;

  add(at: number, value: number): void {
    this.#times[this.#next] = at;
    this.#values[this.#next] = value;
    this.#next = (this.#next + 1) % CAPACITY;
    this.latest = Math.max(this.latest, at);
  }

  /** The median of what was read in [from, to). */
  median(from: number, to: number): Summary {
    const { sorted, at } = this.#within(from, to);
    const half = sorted.length >> 1;
    const upper = sorted[half] ?? NaN;
    const value = sorted.length % 2 === 1 ? upper : ((sorted[half - 1] ?? NaN) + upper) / 2;
    return { count: sorted.length, value, at };
  }

  /** The mean of what was read in [from, to), without the highest and the lowest tenth. */
  trimmedMean(from: number, to: number): Summary {
    const { sorted, at } = this.#within(from, to);
    const cut = Math.floor(sorted.length / 10);
    let sum = 0;
    for (let i = cut; i < sorted.length - cut; i++) sum += sorted[i] ?? 0;
    return { count: sorted.length, value: sum / (sorted.length - 2 * cut), at };
  }

  #within(from: number, to: number): { readonly sorted: Float64Array; readonly at: number } {
    const found = new Float64Array(CAPACITY);
    let count = 0;
    let times = 0;
    for (let i = 0; i < CAPACITY; i++) {
      const at = this.#times[i] ?? NaN;
      if (!(at >= from && at < to)) continue;
      found[count++] = this.#values[i] ?? 0;
      times += at;
    }
    return { sorted: found.subarray(0, count).sort(), at: times / count };
  }
}
