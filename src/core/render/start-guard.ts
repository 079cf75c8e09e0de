/**
 * Nobody is to be startled by the first sound after opening, or out of another pair of outputs. It may be as loud as
 * −10 dBFS at its first frame, and from there the limit rises in a straight line to full scale over 50 ms. What stays
 * under the limit passes bit for bit: a count-in, and any attack that peaks at −10 dBFS or lower, is whole. What
 * would exceed it is turned down to it, and let go over the next tenths of a second. Sound begins where a sample exceeds
 * −40 dBFS, so that the noise of a monitored input does not use the guard up. Figures are own choices.
 *
 * The limiter's delay is used to look ahead: `listen` sees what enters it, `apply` turns down what leaves it. So nothing
 * is late by more than before, and the gain has arrived when the loud frame does.
 */
import { GainRide } from '../limiter/gain-ride.js';
import type { Frames, SampleRate } from '../units/index.js';
import { MIX_FRAMES } from './mixer.js';
import type { StereoBlock } from './stereo.js';

const HEARD = 10 ** (-40 / 20);
const LOUD = 10 ** (-10 / 20);
const RISE_SECONDS = 0.05;
const RELEASE_SECONDS = 0.02;
/** The smallest normal 32-bit number. */
const SMALLEST_NORMAL = 2 ** -126;

/** Audio thread; allocates in the constructor only. */
export class StartGuard {
  readonly #ride: GainRide;
  readonly #gains = new Float64Array(MIX_FRAMES);
  readonly #riseFrames: number;
  /** Frames after the rise in which the gain may still be on its way. */
  readonly #settleFrames: number;
  #armed = true;
  /** Frames since the sound began; Infinity where nothing is guarded. */
  #since = Infinity;

  /** @param lookAhead frames by which the limiter's output is late. */
  constructor(rate: SampleRate, lookAhead: Frames) {
    this.#ride = new GainRide(lookAhead + 1, lookAhead + 1, RELEASE_SECONDS * rate);
    this.#riseFrames = Math.round(RISE_SECONDS * rate);
    this.#settleFrames = 2 * (lookAhead + 1);
  }

  /** The next sound, or the one that is under way, is a first one. */
  arm(): void {
    this.#armed = true;
    this.#since = Infinity;
  }

  /** Looks at `count` (at most MIX_FRAMES) frames that are about to enter the limiter. */
  listen([left, right]: StereoBlock, count: number): void {
    for (let i = 0; i < count; i++) {
      // Full scale is about what the limiter will leave of anything louder; what is no number, it leaves nothing of.
      const peak = Math.min(1, Math.max(Math.abs(left[i] ?? 0), Math.abs(right[i] ?? 0)));
      if (this.#armed && peak > HEARD) {
        this.#armed = false;
        this.#since = 0;
      }
      this.#gains[i] = this.#since < Infinity ? this.#gainFor(peak) : 1;
    }
  }

  /** Turns down the `count` frames that left the limiter meanwhile. */
  apply([left, right]: StereoBlock, count: number): void {
    for (let i = 0; i < count; i++) {
      const gain = this.#gains[i] ?? 1;
      if (gain === 1) continue;
      left[i] = flushed((left[i] ?? 0) * gain);
      right[i] = flushed((right[i] ?? 0) * gain);
    }
  }

  #gainFor(peak: number): number {
    const since = this.#since++;
    const limit = since < this.#riseFrames ? LOUD + ((1 - LOUD) * since) / this.#riseFrames : 1;
    const gain = this.#ride.push(peak > limit ? 1 - limit / peak : 0);
    if (gain === 1 && since > this.#riseFrames + this.#settleFrames) this.#since = Infinity;
    return gain;
  }
}

const flushed = (sample: number): number => (sample < SMALLEST_NORMAL && sample > -SMALLEST_NORMAL ? 0 : sample);
