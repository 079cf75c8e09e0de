/**
 * The click track: a knock on every felt beat, heavier on the first of a bar. What sounds at a position is a function of
 * the position; whether it sounds is a ramped gain. Audio thread; allocates in the constructor only.
 */
import type { ProgramGrid } from '../program/program-grid.js';
import type { Frames, SampleRate } from '../units/index.js';
import { clickSound } from './click-sound.js';
import { usableGain } from './levels.js';
import { Ramp } from './ramp.js';

/** Level of a beat that is not the first of its bar: 4.4 dB softer. Own choice. */
const WEAK_BEAT = 0.6;
const RAMP_SECONDS = 0.005;

export class ClickTrack {
  readonly #sound: Float32Array;
  /** Level while playing; the count-in is always at full level. */
  readonly #playing: Ramp;
  readonly #gain: Ramp;

  constructor(rate: SampleRate) {
    this.#sound = clickSound(rate);
    const ramp = Math.max(1, Math.round(RAMP_SECONDS * rate));
    this.#playing = new Ramp(1, ramp);
    this.#gain = new Ramp(0.25, ramp);
  }

  set(playing: boolean, gain: number, at: Frames): void {
    this.#gain.moveTo(usableGain(gain), at);
    this.#playing.moveTo(playing ? 1 : 0, at);
  }

  /** Adds clicks at positions [position, position + count), of beats at or after `first`. */
  add(grid: ProgramGrid, origin: number, first: number, position: number, count: number, into: Float64Array): void {
    const length = this.#sound.length;
    const lastBar = grid.barAt(position + count - 1);
    for (let bar = grid.barAt(position - length); bar <= lastBar; bar++) {
      const pulses = grid.pulses(bar);
      for (let pulse = 0; pulse < pulses; pulse++) {
        if (!grid.isBeat(bar, pulse)) continue;
        const beat = grid.pulseOf(bar, pulse);
        if (beat < first || beat >= position + count || beat + length <= position) continue;
        this.#knock(beat, pulse === 0 ? 1 : WEAK_BEAT, origin, position, count, into);
      }
    }
  }

  #knock(beat: number, weight: number, origin: number, position: number, count: number, into: Float64Array): void {
    const begin = Math.max(position, beat);
    const end = Math.min(position + count, beat + this.#sound.length);
    for (let at = begin; at < end; at++) {
      const gain = this.#gain.at(origin + at) * weight;
      const level = beat < 0 ? gain : gain * this.#playing.at(origin + at);
      const i = at - position;
      into[i] = (into[i] ?? 0) + (this.#sound[at - beat] ?? 0) * level;
    }
  }
}
