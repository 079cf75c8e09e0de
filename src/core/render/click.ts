/**
 * The click track: a knock on every felt beat, heaviest on the first of a bar, less on the first of a later group, none
 * in free time, where time stands still, and behind the last bar of a program that ends. What sounds at a position is a
 * function of the position; whether it sounds is a ramped gain. Audio thread; allocates in the constructor only.
 */
import type { ProgramGrid } from '../program/program-grid.js';
import type { Frames, SampleRate } from '../units/index.js';
import { clickSound } from './click-sound.js';
import { Knocks } from './knocks.js';
import { usableGain } from './levels.js';
import { Ramp } from './ramp.js';

const RAMP_SECONDS = 0.005;

export class ClickTrack {
  readonly #sound: Float32Array;
  /** Level while playing; the count-in is always at full level. */
  readonly #playing: Ramp;
  readonly #gain: Ramp;
  readonly #beginning = new Knocks();
  /** Those of bar lines that are no longer in use. */
  readonly #ringing = new Knocks();
  /** Engine frame from which the bar lines in use hold. */
  #from = -Infinity;
  #isSet = false;

  constructor(rate: SampleRate) {
    this.#sound = clickSound(rate);
    const ramp = Math.max(1, Math.round(RAMP_SECONDS * rate));
    this.#playing = new Ramp(1, ramp);
    this.#gain = new Ramp(0.25, ramp);
  }

  /** Ramped from an engine frame on; at once when it is set for the first time, since nothing has sounded by then. */
  set(playing: boolean, gain: number, at: Frames): void {
    if (this.#isSet) {
      this.#gain.moveTo(usableGain(gain), at);
      this.#playing.moveTo(playing ? 1 : 0, at);
    } else {
      this.#isSet = true;
      this.#gain.set(usableGain(gain));
      this.#playing.set(playing ? 1 : 0);
    }
  }

  /** Playing starts: nothing rings on from before. */
  restart(): void {
    this.#ringing.clear();
    this.#from = -Infinity;
  }

  /** At an engine frame other bar lines come into use: knocks that have begun by then sound to their end. */
  ringOn(grid: ProgramGrid, origin: number, startsAt: number, frame: number): void {
    const from = frame - this.#sound.length + 1;
    this.#ringing.keepFrom(from);
    this.#ringing.collect(grid, origin, Math.max(from, startsAt, this.#from), frame);
    this.#from = frame;
  }

  /** Adds clicks at engine frames [frame, frame + count), of beats from `startsAt` on; position 0 is at `origin`. */
  add(grid: ProgramGrid, origin: number, startsAt: number, frame: number, count: number, into: Float64Array): void {
    const from = frame - this.#sound.length + 1;
    this.#beginning.clear();
    this.#beginning.collect(grid, origin, Math.max(from, startsAt, this.#from), frame + count);
    this.#sum(this.#beginning, frame, count, into);
    if (frame < this.#from + this.#sound.length) this.#sum(this.#ringing, frame, count, into);
  }

  #sum(knocks: Knocks, frame: number, count: number, into: Float64Array): void {
    for (let k = 0; k < knocks.count; k++) {
      const beat = knocks.at[k] ?? 0;
      const end = Math.min(frame + count, beat + this.#sound.length);
      for (let at = Math.max(frame, beat); at < end; at++) {
        const gain = this.#gain.at(at) * (knocks.level[k] ?? 0);
        const level = knocks.counted[k] === 1 ? gain : gain * this.#playing.at(at);
        const i = at - frame;
        into[i] = (into[i] ?? 0) + (this.#sound[at - beat] ?? 0) * level;
      }
    }
  }
}
