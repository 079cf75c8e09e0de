/**
 * Which of the device's channels the house and the foldback leave by. One output of the node carries all of them, so that
 * both pairs are of one interface and one clock; two devices can't be held together.
 */
import type { SampleRate } from '../units/index.js';
import { Ramp } from './ramp.js';
import type { StereoBlock } from './stereo.js';

export type Routing =
  /** One pair of outputs: the foldback alone, since what is heard there is all that the player hears. */
  | { readonly layout: 'pair' }
  /** One pair, one side each, in mono: (L + R) / 2. */
  | { readonly layout: 'sides'; readonly foldback: 'left' | 'right' }
  /** Two pairs: the house on one, the foldback on the other. */
  | { readonly layout: 'two-pairs'; readonly foldback: 'first' | 'second' }
  /** One pair: the foldback in mono on one side, the reference on the other. */
  | { readonly layout: 'side-and-reference'; readonly foldback: 'left' | 'right' }
  /** Two pairs: the foldback on the first, the reference on both outputs of the second. */
  | { readonly layout: 'pair-and-reference' };

/** The most channels that are used. */
export const DEVICE_CHANNELS = 4;
/** Left and right house, left and right foldback, the reference. */
const SOURCES = 5;
const RAMP_SECONDS = 0.02;
/** The smallest normal 32-bit number. */
const SMALLEST_NORMAL = 2 ** -126;

/** Shares of house left and right, foldback left and right, reference. */
const MONO_HOUSE = [0.5, 0.5, 0, 0, 0];
const MONO_FOLDBACK = [0, 0, 0.5, 0.5, 0];
const REFERENCE = [0, 0, 0, 0, 1];
const HOUSE = [
  [1, 0, 0, 0, 0],
  [0, 1, 0, 0, 0],
];
const FOLDBACK = [
  [0, 0, 1, 0, 0],
  [0, 0, 0, 1, 0],
];
const SILENT = [
  [0, 0, 0, 0, 0],
  [0, 0, 0, 0, 0],
];

/** Channels that a device needs for a routing. */
export const channelsOf = (routing: Routing): number =>
  routing.layout === 'two-pairs' || routing.layout === 'pair-and-reference' ? 4 : 2;

/** A row of shares for each channel of the device. */
function sharesOf(routing: Routing): readonly (readonly number[])[] {
  switch (routing.layout) {
    case 'pair':
      return [...FOLDBACK, ...SILENT];
    case 'sides':
      return routing.foldback === 'left'
        ? [MONO_FOLDBACK, MONO_HOUSE, ...SILENT]
        : [MONO_HOUSE, MONO_FOLDBACK, ...SILENT];
    case 'two-pairs':
      return routing.foldback === 'first' ? [...FOLDBACK, ...HOUSE] : [...HOUSE, ...FOLDBACK];
    case 'side-and-reference':
      return routing.foldback === 'left'
        ? [MONO_FOLDBACK, REFERENCE, ...SILENT]
        : [REFERENCE, MONO_FOLDBACK, ...SILENT];
    case 'pair-and-reference':
      return [...FOLDBACK, REFERENCE, REFERENCE];
  }
}

/**
 * Distributes the two buses. The shares of a channel add up to at most 1, while they move as well, so what was under the
 * limiters' ceiling stays under it. Audio thread; allocates in the constructor only.
 */
export class Router {
  /** Share of source s in channel c at entry SOURCES × c + s. */
  readonly #shares: readonly Ramp[];

  constructor(rate: SampleRate) {
    const length = Math.max(1, Math.round(RAMP_SECONDS * rate));
    this.#shares = sharesOf({ layout: 'pair' })
      .flat()
      .map((share) => new Ramp(share, length));
  }

  /** From an engine frame on, over 20 ms. */
  set(routing: Routing, at: number): void {
    const shares = sharesOf(routing).flat();
    for (let k = 0; k < shares.length; k++) {
      const ramp = this.#shares[k];
      const share = shares[k] ?? 0;
      if (ramp !== undefined && ramp.target !== share) ramp.moveTo(share, at);
    }
  }

  /**
   * Writes `count` frames to each channel of the device from index `at` on; channels after the fourth get silence.
   * @param reference already late by the limiters' look-ahead.
   */
  route(
    house: StereoBlock,
    foldback: StereoBlock,
    reference: Float32Array,
    channels: readonly Float32Array[],
    at: number,
    frame: number,
    count: number,
  ): void {
    for (let c = 0; c < channels.length; c++) {
      const into = channels[c];
      if (into === undefined) continue;
      into.fill(0, at, at + count);
      if (c >= DEVICE_CHANNELS) continue;
      this.#add(SOURCES * c, house[0], into, at, frame, count);
      this.#add(SOURCES * c + 1, house[1], into, at, frame, count);
      this.#add(SOURCES * c + 2, foldback[0], into, at, frame, count);
      this.#add(SOURCES * c + 3, foldback[1], into, at, frame, count);
      this.#add(SOURCES * c + 4, reference, into, at, frame, count);
    }
  }

  #add(entry: number, from: Float32Array, into: Float32Array, at: number, frame: number, count: number): void {
    const share = this.#shares[entry];
    if (share === undefined) return;
    const moves = share.movesAfter(frame);
    const still = share.target;
    if (!moves && still === 0) return;
    for (let i = 0; i < count; i++) {
      const sum = (into[at + i] ?? 0) + (from[i] ?? 0) * (moves ? share.at(frame + i) : still);
      into[at + i] = sum < SMALLEST_NORMAL && sum > -SMALLEST_NORMAL ? 0 : sum;
    }
  }
}
