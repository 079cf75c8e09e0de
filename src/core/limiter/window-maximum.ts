/**
 * The largest of the last so many values, in constant time a value on average (a queue that only ever falls, from front
 * to back). Zeros are not queued. Any thread; allocates in the constructor only.
 */
export class WindowMaximum {
  readonly #length: number;
  readonly #times: Float64Array;
  readonly #values: Float64Array;
  #front = 0;
  #count = 0;
  #now = 0;

  constructor(length: number) {
    this.#length = length;
    this.#times = new Float64Array(length);
    this.#values = new Float64Array(length);
  }

  /** Takes in a value of 0 or more and answers the largest of the last `length`, this one among them. */
  push(value: number): number {
    const now = this.#now++;
    if (this.#count > 0 && (this.#times[this.#front] ?? 0) <= now - this.#length) {
      this.#front = this.#place(1);
      this.#count--;
    }
    if (value > 0) {
      while (this.#count > 0 && (this.#values[this.#place(this.#count - 1)] ?? 0) <= value) this.#count--;
      const back = this.#place(this.#count++);
      this.#times[back] = now;
      this.#values[back] = value;
    }
    return this.#count > 0 ? (this.#values[this.#front] ?? 0) : 0;
  }

  reset(): void {
    this.#count = 0;
    this.#now = 0;
  }

  #place(offset: number): number {
    const place = this.#front + offset;
    return place < this.#length ? place : place - this.#length;
  }
}
