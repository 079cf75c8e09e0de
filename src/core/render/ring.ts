/**
 * The input ring: the last minute or more of every input channel, addressed by capture frame. Whoever captures counts
 * the frames; what has been played may therefore still be on its way. Audio thread; allocates in the constructor only.
 */
import type { Frames } from '../units/index.js';

/** The next blocks overwrite so much before it has been copied: a third of a second at 48 kHz (own choice). */
const AT_RISK = 16_384;

export class InputRing {
  readonly channels: number;
  /** Frames that are held. */
  readonly frames: number;
  readonly #data: readonly Float32Array[];
  readonly #mask: number;
  #first = 0;
  #captured = 0;
  #due = 0;
  /** What a capture frame is more than its place in the arrays, before it is wrapped. */
  #base = 0;

  /** @param atLeast frames to hold; rounded up to a power of two. */
  constructor(channels: number, atLeast: Frames) {
    this.frames = 2 ** Math.ceil(Math.log2(Math.max(2, atLeast)));
    this.channels = channels;
    this.#mask = this.frames - 1;
    this.#data = Array.from({ length: channels }, () => new Float32Array(this.frames));
  }

  /** The capture frame after the newest one that is here. */
  get captured(): number {
    return this.#captured;
  }

  /** The capture frame after the newest one that has come in or is on its way: what is being captured now. */
  get due(): number {
    return Math.max(this.#due, this.#captured);
  }

  /** The oldest capture frame that is still held. */
  get oldest(): number {
    return Math.max(this.#first, this.#captured - this.frames);
  }

  /** The oldest capture frame that the next blocks leave alone: from there on, keeping can begin. */
  get oldestSafe(): number {
    return Math.max(this.#first, this.#captured + Math.min(AT_RISK, this.frames) - this.frames);
  }

  /** Frames before a capture frame have been captured by now, whether or not they are here yet. */
  expect(before: number): void {
    this.#due = before;
  }

  /**
   * Writes `count` frames from a capture frame on. A channel that is missing is silence, and so are frames that were
   * left out since the newest; frames that are here already stay as they are.
   * @returns how many were left out.
   */
  write(at: number, input: readonly Float32Array[], count: number): number {
    const missed = Math.max(0, at - this.#captured);
    if (missed > 0) this.#silence(missed);
    const mask = this.#mask;
    const skip = Math.min(count, Math.max(0, this.#captured - at));
    const start = at - this.#base;
    for (let c = 0; c < this.channels; c++) {
      const into = this.#data[c];
      const from = input[c];
      if (into === undefined) continue;
      for (let i = skip; i < count; i++) into[(start + i) & mask] = from === undefined ? 0 : (from[i] ?? 0);
    }
    this.#captured += count - skip;
    return missed;
  }

  /** Copies frames [from, from + count) of a channel; frames that are not held come out as zeros. */
  read(channel: number, from: number, count: number, into: Float32Array, at: number): void {
    const data = this.#data[channel];
    const oldest = this.oldest;
    const base = this.#base;
    for (let i = 0; i < count; i++) {
      const frame = from + i;
      const held = data !== undefined && frame >= oldest && frame < this.#captured;
      into[at + i] = held ? (data[(frame - base) & this.#mask] ?? 0) : 0;
    }
  }

  /** All channels of a frame that is held, added up in their order. */
  sumAt(frame: number): number {
    const at = (frame - this.#base) & this.#mask;
    let sum = 0;
    for (let c = 0; c < this.#data.length; c++) sum += this.#data[c]?.[at] ?? 0;
    return sum;
  }

  /** Forgets all that is held: the next frame is `at`. Only while nobody is reading. */
  restart(at: number): void {
    this.#first = at;
    this.#captured = at;
  }

  /** Every frame that is held gets a number greater by `by`. Only while nobody is reading. */
  renumber(by: number): void {
    this.#first += by;
    this.#captured += by;
    this.#base += by;
  }

  #silence(count: number): void {
    const start = this.#captured - this.#base;
    for (let c = 0; c < this.channels; c++) {
      const into = this.#data[c];
      if (into === undefined) continue;
      for (let i = Math.max(0, count - this.frames); i < count; i++) into[(start + i) & this.#mask] = 0;
    }
    this.#captured += count;
  }
}
