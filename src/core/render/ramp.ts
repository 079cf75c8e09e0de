/**
 * A gain that moves in a straight line between two values: a function of the absolute engine frame, so that it is the
 * same for any split into blocks. Audio thread; allocates in the constructor only.
 */
export class Ramp {
  #from: number;
  #to: number;
  #starts = 0;
  /** The change before the last one, which goes on until that begins. */
  #fromBefore: number;
  #toBefore: number;
  #startsBefore = 0;
  readonly #length: number;

  /** @param length frames a change takes, at least 1. */
  constructor(value: number, length: number) {
    this.#from = value;
    this.#to = value;
    this.#fromBefore = value;
    this.#toBefore = value;
    this.#length = length;
  }

  get target(): number {
    return this.#to;
  }

  /** Engine frame at which the last change begins, or began. */
  get starts(): number {
    return this.#starts;
  }

  /** Engine frame from which the value is the target. */
  get ends(): number {
    return this.#from === this.#to ? this.#starts : this.#starts + this.#length;
  }

  /** Holds a value at once. */
  set(value: number): void {
    this.#from = value;
    this.#to = value;
    this.#fromBefore = value;
    this.#toBefore = value;
  }

  /**
   * Begins to move at an engine frame, now or later, from wherever it is then. A change that is under way goes on until
   * then; one that was to begin later does not take place.
   */
  moveTo(value: number, starts: number): void {
    const from = this.at(starts);
    if (starts >= this.#starts) {
      this.#fromBefore = this.#from;
      this.#toBefore = this.#to;
      this.#startsBefore = this.#starts;
    }
    this.#from = from;
    this.#to = value;
    this.#starts = starts;
  }

  at(frame: number): number {
    if (frame < this.#starts) return this.#on(this.#fromBefore, this.#toBefore, this.#startsBefore, frame);
    return this.#on(this.#from, this.#to, this.#starts, frame);
  }

  /** Whether the value changes at or after an engine frame. */
  movesAfter(frame: number): boolean {
    const before = this.#fromBefore !== this.#toBefore && frame < this.#startsBefore + this.#length;
    return (before && frame < this.#starts) || (this.#from !== this.#to && frame < this.#starts + this.#length);
  }

  #on(from: number, to: number, starts: number, frame: number): number {
    if (frame >= starts + this.#length) return to;
    if (frame <= starts) return from;
    return from + ((to - from) * (frame - starts)) / this.#length;
  }
}
