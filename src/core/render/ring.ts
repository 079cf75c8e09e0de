/**
 * The input ring: the last minute or more of every input channel, addressed by capture frame. Audio thread; allocates
 * in the constructor only.
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
  #captured = 0;

  /** @param atLeast frames to hold; rounded up to a power of two. */
  constructor(channels: number, atLeast: Frames) {
    this.frames = 2 ** Math.ceil(Math.log2(Math.max(2, atLeast)));
    this.channels = channels;
    this.#mask = this.frames - 1;
    this.#data = Array.from({ length: channels }, () => new Float32Array(this.frames));
  }

  /** The capture frame after the newest one. */
  get captured(): number {
    return this.#captured;
  }

  /** The oldest capture frame that is still held. */
  get oldest(): number {
    return Math.max(0, this.#captured - this.frames);
  }

  /** The oldest capture frame that the next blocks leave alone: from there on, keeping can begin. */
  get oldestSafe(): number {
    return Math.max(0, this.#captured + Math.min(AT_RISK, this.frames) - this.frames);
  }

  /** Appends `count` frames. A channel that is missing is silence. */
  write(input: readonly Float32Array[], count: number): void {
    const mask = this.#mask;
    for (let c = 0; c < this.channels; c++) {
      const into = this.#data[c];
      const from = input[c];
      if (into === undefined) continue;
      for (let i = 0; i < count; i++) into[(this.#captured + i) & mask] = from === undefined ? 0 : (from[i] ?? 0);
    }
    this.#captured += count;
  }

  /** Copies frames [from, from + count) of a channel; frames that are not held come out as zeros. */
  read(channel: number, from: number, count: number, into: Float32Array, at: number): void {
    const data = this.#data[channel];
    const oldest = this.oldest;
    for (let i = 0; i < count; i++) {
      const frame = from + i;
      const held = data !== undefined && frame >= oldest && frame < this.#captured;
      into[at + i] = held ? (data[frame & this.#mask] ?? 0) : 0;
    }
  }
}
