/**
 * The chunks that the page will be asked for next, those needed soonest first. It holds few: what is needed later than
 * all of these is found again in the next round of looking ahead. Audio thread; allocates in the constructor only.
 */
import type { AudioChannel } from './audio-store.js';
import { WANTED } from './audio-store.js';

export class Wants {
  readonly #owners: (AudioChannel | null)[];
  readonly #indices: Int32Array;
  /** Engine frames at which they will sound, falling: the soonest is the last. */
  readonly #frames: Float64Array;
  #count = 0;
  #asked = 0;

  constructor(capacity: number) {
    this.#owners = new Array<AudioChannel | null>(capacity).fill(null);
    this.#indices = new Int32Array(capacity);
    this.#frames = new Float64Array(capacity);
  }

  get isEmpty(): boolean {
    return this.#count === 0;
  }

  /** A chunk that is missing will sound at an engine frame. */
  add(owner: AudioChannel, index: number, frame: number): void {
    if (owner.chunkAt(index) === WANTED && !this.#isSooner(owner, index, frame)) return;
    if (this.#count === this.#frames.length) {
      if (frame >= (this.#frames[0] ?? Infinity)) return;
      this.#drop(0);
    }
    let at = this.#count;
    for (; at > 0 && (this.#frames[at - 1] ?? 0) <= frame; at--) this.#move(at - 1, at);
    this.#owners[at] = owner;
    this.#indices[at] = index;
    this.#frames[at] = frame;
    this.#count++;
    owner.want(index);
  }

  /** Gives the soonest its place in the pool and takes it off the list. @returns whose it is; null where there is none. */
  ask(chunk: number): AudioChannel | null {
    if (this.#count === 0) return null;
    this.#count--;
    const owner = this.#owners[this.#count] ?? null;
    this.#owners[this.#count] = null;
    this.#asked = this.#indices[this.#count] ?? 0;
    owner?.ask(this.#asked, chunk);
    return owner;
  }

  /** The number of the chunk that was asked for last. */
  get asked(): number {
    return this.#asked;
  }

  /** Gives up what would have begun to sound before an engine frame. */
  giveUpBefore(frame: number): void {
    while (this.#count > 0 && (this.#frames[this.#count - 1] ?? Infinity) < frame) this.#drop(this.#count - 1);
  }

  clear(): void {
    while (this.#count > 0) this.#drop(this.#count - 1);
  }

  /** Whether the chunk is on the list for a later frame only; it is off it then. */
  #isSooner(owner: AudioChannel, index: number, frame: number): boolean {
    for (let at = 0; at < this.#count; at++) {
      if (this.#indices[at] !== index || this.#owners[at] !== owner) continue;
      if ((this.#frames[at] ?? 0) <= frame) return false;
      this.#drop(at);
      return true;
    }
    return true;
  }

  #drop(place: number): void {
    this.#owners[place]?.forget(this.#indices[place] ?? 0);
    this.#count--;
    for (let at = place; at < this.#count; at++) this.#move(at + 1, at);
    this.#owners[this.#count] = null;
  }

  #move(from: number, to: number): void {
    this.#owners[to] = this.#owners[from] ?? null;
    this.#indices[to] = this.#indices[from] ?? 0;
    this.#frames[to] = this.#frames[from] ?? 0;
  }
}
