/**
 * Chunks that have come from the page and wait to be copied: as many as can be under way. Audio thread; allocates in the
 * constructor only.
 */
import type { AudioChannel } from './audio-store.js';

export class Arrivals {
  readonly #owners: (AudioChannel | null)[];
  readonly #indices: Int32Array;
  readonly #samples: (Float32Array | null)[];
  #first = 0;
  #count = 0;

  constructor(capacity: number) {
    this.#owners = new Array<AudioChannel | null>(capacity).fill(null);
    this.#indices = new Int32Array(capacity);
    this.#samples = new Array<Float32Array | null>(capacity).fill(null);
  }

  get isEmpty(): boolean {
    return this.#count === 0;
  }

  get isFull(): boolean {
    return this.#count === this.#owners.length;
  }

  /** There must be room. */
  add(owner: AudioChannel, index: number, samples: Float32Array): void {
    const place = (this.#first + this.#count) % this.#owners.length;
    this.#owners[place] = owner;
    this.#indices[place] = index;
    this.#samples[place] = samples;
    this.#count++;
  }

  /** The chunk number of the one that came first. */
  get index(): number {
    return this.#indices[this.#first] ?? 0;
  }

  /**
   * Copies the one that came first into the memory that was kept for it.
   * @returns whose it is; null where it had come before.
   */
  copyFirst(): AudioChannel | null {
    const owner = this.#owners[this.#first] ?? null;
    const samples = this.#samples[this.#first] ?? null;
    const isNew = owner !== null && samples !== null && owner.isAsked(this.index);
    if (isNew) owner.fill(this.index, samples);
    return isNew ? owner : null;
  }

  removeFirst(): void {
    this.#owners[this.#first] = null;
    this.#samples[this.#first] = null;
    this.#first = (this.#first + 1) % this.#owners.length;
    this.#count--;
  }
}
