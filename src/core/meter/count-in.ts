/** The bars counted before playing starts, in felt beats. Default: common practice, no source. */
import { bars, frames, secondsFromFrames } from '../units/index.js';
import type { Bars, Frames, SampleRate } from '../units/index.js';
import { pulseOffset } from './grid.js';
import type { Metre } from './metre.js';
import { feltBeats, type Accent } from './metres.js';

export interface CountInClick {
  /** Frames relative to bar line 0; negative. */
  readonly at: Frames;
  /** The first of each bar is accented `bar`. */
  readonly accent: Accent;
}

/** A bar shorter than this is too short to find one's feet in. */
const SHORT_BAR_SECONDS = 2;

/** Two bars where a bar is under two seconds, else one. */
export const defaultCountIn = (barFrames: Frames, rate: SampleRate): Bars =>
  bars(secondsFromFrames(barFrames, rate) < SHORT_BAR_SECONDS ? 2 : 1);

/**
 * The clicks of a count-in of `count` bars, in order of time, one for each felt beat, on the same frames of the bar as the
 * beats of the bars that follow. Empty for no bars.
 */
export function countInClicks(metre: Metre, barFrames: Frames, count: Bars): readonly CountInClick[] {
  const beats = feltBeats(metre).map(({ start, accent }) => ({
    offset: pulseOffset(start, barFrames, metre.num),
    accent,
  }));
  return Array.from({ length: count }, (_, bar) => (bar - count) * barFrames).flatMap((line) =>
    beats.map(({ offset, accent }) => ({ at: frames(line + offset), accent })),
  );
}
