/** How much before a body can have a part in its seam. */
import type { Frames, SampleRate } from '../units/index.js';

/** Beats before the line in which a pickup begins; without an onset in them, the lead holds nothing that was played. */
export const PICKUP_BEATS = 2;
/** More than the onset finder wants before the first onset that it may find. */
const RUN_UP_SECONDS = 0.25;

/** Frames before a body that can have a part in its seam; a whole number, upwards. */
export const leadHeard = (beatFrames: Frames, rate: SampleRate): number =>
  Math.ceil(PICKUP_BEATS * beatFrames + RUN_UP_SECONDS * rate);
