/**
 * A gain that moves in a straight line between two values: a function of the absolute engine frame, so that it is the
 * same for any split into blocks. Audio thread; allocates in the constructor only.
 */
export class Ramp {
  #from: number;
  #to: number;
  #starts = 0;
  readonly #length: number;

  /** @param length frames a change takes, at least 1. */
  constructor(value: number, length: number) {
    this.#from = value;
    this.#to = value;
    this.#length = length;
  }

  get target(): number {
    return this.#to;
  }

  /** Holds a value at once. */
  set(value: number): void {
    this.#from = value;
    this.#to = value;
  }

  /** Begins to move at an engine frame, from wherever it is then. */
  moveTo(value: number, starts: number): void {
    this.#from = this.at(starts);
    this.#to = value;
    this.#starts = starts;
  }

  at(frame: number): number {
    if (frame >= this.#starts + this.#length) return this.#to;
    if (frame <= this.#starts) return this.#from;
    return this.#from + ((this.#to - this.#from) * (frame - this.#starts)) / this.#length;
  }

  /** Whether the value changes at or after an engine frame. */
  movesAfter(frame: number): boolean {
    return this.#from !== this.#to && frame < this.#starts + this.#length;
  }
}
