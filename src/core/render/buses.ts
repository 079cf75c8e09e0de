/**
 * From music, clicks and the monitored input to the two buses: the house (music alone) and the foldback (music, click,
 * count-in, monitor), each with its gain, its limiter and its guard of loud starts; both late by the same look-ahead.
 * Audio thread; allocates in the constructor only.
 */
import { Limiter } from '../limiter/limiter.js';
import type { Frames, Gain, SampleRate } from '../units/index.js';
import { usableGain } from './levels.js';
import { Meters } from './meters.js';
import { MIX_FRAMES } from './mixer.js';
import { Monitor } from './monitor.js';
import { Ramp } from './ramp.js';
import { StartGuard } from './start-guard.js';
import type { StereoBlock, StereoSum } from './stereo.js';
import { stereoBlock } from './stereo.js';

export type Bus = 'house' | 'foldback';

const RAMP_SECONDS = 0.01;

class BusEnd {
  readonly block = stereoBlock(MIX_FRAMES);
  readonly gain: Ramp;
  readonly limiter: Limiter;
  readonly start: StartGuard;

  constructor(rate: SampleRate) {
    this.gain = new Ramp(1, Math.max(1, Math.round(RAMP_SECONDS * rate)));
    this.limiter = new Limiter(rate);
    this.start = new StartGuard(rate, this.limiter.lookAhead);
  }

  finish(count: number, guarded: boolean): void {
    if (guarded) this.start.listen(this.block, count);
    this.limiter.process(this.block[0], this.block[1], count);
    if (guarded) this.start.apply(this.block, count);
  }
}

export class Buses {
  readonly monitor: Monitor;
  readonly meters: Meters;
  readonly #house: BusEnd;
  readonly #foldback: BusEnd;
  readonly #monitored = new Float64Array(MIX_FRAMES);
  #damagedHouse = 0;
  #damagedFoldback = 0;

  /** @param inputs channels of the input. */
  constructor(rate: SampleRate, inputs: number) {
    this.monitor = new Monitor(rate, inputs);
    this.meters = new Meters(rate, inputs);
    this.#house = new BusEnd(rate);
    this.#foldback = new BusEnd(rate);
  }

  get lookAhead(): Frames {
    return this.#foldback.limiter.lookAhead;
  }

  /** The frames of the last `render`. */
  get house(): StereoBlock {
    return this.#house.block;
  }

  get foldback(): StereoBlock {
    return this.#foldback.block;
  }

  /** Moves to a gain within 10 ms from an engine frame on. */
  setLevel(bus: Bus, gain: Gain, at: Frames): void {
    (bus === 'house' ? this.#house : this.#foldback).gain.moveTo(usableGain(gain), at);
  }

  /** The next sound, or the one that is under way, goes where nothing was heard before. */
  expectStart(): void {
    this.#house.start.arm();
    this.#foldback.start.arm();
  }

  /** Samples that were no finite numbers since the last call; each became silence. */
  takeDamaged(): number {
    // Music that is damaged is so in both; clicks and monitor are in the foldback alone.
    const house = this.#house.limiter.faults - this.#damagedHouse;
    const foldback = this.#foldback.limiter.faults - this.#damagedFoldback;
    this.#damagedHouse += house;
    this.#damagedFoldback += foldback;
    return Math.max(house, foldback);
  }

  /**
   * Renders `count` (at most MIX_FRAMES) frames, engine frames from `frame` on.
   * @param input the block that came in; its frame `from` belongs to `frame`.
   * @param guarded whether somebody hears it, whom a loud start might startle.
   */
  render(
    [left, right]: StereoSum,
    clicks: Float64Array,
    input: readonly Float32Array[],
    from: number,
    frame: number,
    count: number,
    guarded: boolean,
  ): void {
    const monitored = this.#monitored;
    const house = this.#house;
    const foldback = this.#foldback;
    monitored.fill(0, 0, count);
    this.monitor.add(input, from, frame, count, monitored);
    for (let i = 0; i < count; i++) monitored[i] = (monitored[i] ?? 0) + (clicks[i] ?? 0);
    mix(left, monitored, foldback.gain, frame, count, foldback.block[0]);
    mix(right, monitored, foldback.gain, frame, count, foldback.block[1]);
    mix(left, null, house.gain, frame, count, house.block[0]);
    mix(right, null, house.gain, frame, count, house.block[1]);
    house.finish(count, guarded);
    foldback.finish(count, guarded);
    this.meters.takeBuses(house.block, foldback.block, count);
  }
}

/** Music, and what only the player hears, at a gain that may be moving. */
function mix(
  music: Float64Array,
  player: Float64Array | null,
  gain: Ramp,
  frame: number,
  count: number,
  into: Float32Array,
): void {
  const moves = gain.movesAfter(frame);
  const still = gain.target;
  for (let i = 0; i < count; i++) {
    const sum = (music[i] ?? 0) + (player === null ? 0 : (player[i] ?? 0));
    into[i] = sum * (moves ? gain.at(frame + i) : still);
  }
}
