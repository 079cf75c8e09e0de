/** How many bars are counted before playing starts. Common practice, no source. */
import { bars, secondsFromFrames } from '../units/index.js';
import type { Bars, Frames, SampleRate } from '../units/index.js';

/** A bar shorter than this is too short to find one's feet in. */
const SHORT_BAR_SECONDS = 2;

/** Two bars where a bar is under two seconds, else one. */
export const defaultCountIn = (barFrames: Frames, rate: SampleRate): Bars =>
  bars(secondsFromFrames(barFrames, rate) < SHORT_BAR_SECONDS ? 2 : 1);
