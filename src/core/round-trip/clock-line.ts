/**
 * Two devices have two clocks, and the round trip between them is a line, not a figure: found from measurements a minute
 * or more apart, by least squares.
 */
import type { Result } from '../result/result.js';
import { failure, success } from '../result/result.js';
import type { Frames, SampleRate, Seconds } from '../units/index.js';
import { frames, nearestFrame, seconds } from '../units/index.js';

export interface TimedRoundTrip {
  /** When it was measured, on any clock that starts with the session. */
  readonly at: Seconds;
  readonly frames: Frames;
}

export interface ClockLine {
  /**
   * `one-clock`: up to 2 ppm apart, one figure holds. `two-clocks`: the round trip is the line's, and no better than to
   * the millisecond.
   */
  readonly kind: 'one-clock' | 'two-clocks';
  /** How fast the round trip grows: parts in a million, positive where the input's clock is the faster one. */
  readonly ppm: number;
  /** How far whole frames leave that open at worst, ± ppm. */
  readonly ppmUncertainty: number;
  /** The middle of the measurements in time, and the line there; not rounded. */
  readonly middle: Seconds;
  readonly framesAtMiddle: number;
  /** Of one clock: how far the one figure lies from a measurement at worst. Of two: how far the line does. */
  readonly within: number;
}

export type ClockRefusal =
  | { readonly type: 'too-few'; readonly measurements: number }
  | { readonly type: 'too-close'; readonly apart: Seconds }
  /** The measurements lie on no line: the round trip stepped between them, by about so many frames. */
  | { readonly type: 'stepped'; readonly frames: number };

const LEAST_APART = seconds(60);
const ONE_CLOCK_PPM = 2;
/** Rounding moves a measurement by half a frame and the line by another; half a frame is left besides. */
const LINE_FRAMES = 1.5;

/** Two measurements show a step as a slope; only a third can tell. The order does not matter. */
export function fitClockLine(
  measurements: readonly TimedRoundTrip[],
  rate: SampleRate,
): Result<ClockLine, ClockRefusal> {
  const count = measurements.length;
  if (count < 2) return failure({ type: 'too-few', measurements: count });
  const times: number[] = measurements.map(({ at }) => at);
  const values: number[] = measurements.map((each) => each.frames);
  const apart = seconds(Math.max(...times) - Math.min(...times));
  if (apart < LEAST_APART) return failure({ type: 'too-close', apart });

  const middle = meanOf(times);
  const mean = meanOf(values);
  const spread = times.reduce((sum, at) => sum + (at - middle) ** 2, 0);
  const slope = times.reduce((sum, at, i) => sum + (at - middle) * ((values[i] ?? 0) - mean), 0) / spread;
  const farthest = Math.max(...times.map((at, i) => Math.abs((values[i] ?? 0) - mean - slope * (at - middle))));
  if (farthest > LINE_FRAMES) return failure({ type: 'stepped', frames: farthest });

  const ppm = (slope / rate) * 1e6;
  const isOne = Math.abs(ppm) <= ONE_CLOCK_PPM;
  const figure = nearestFrame((Math.max(...values) + Math.min(...values)) / 2);
  return success({
    kind: isOne ? 'one-clock' : 'two-clocks',
    ppm,
    ppmUncertainty: ((0.5 * times.reduce((sum, at) => sum + Math.abs(at - middle), 0)) / spread / rate) * 1e6,
    middle: seconds(middle),
    framesAtMiddle: isOne ? figure : mean,
    within: isOne ? Math.max(...values.map((value) => Math.abs(value - figure))) : farthest,
  });
}

/** The round trip at a time; the nearest frame. Of one clock it is always the same. */
export function roundTripAt(line: ClockLine, at: Seconds, rate: SampleRate): Frames {
  if (line.kind === 'one-clock') return frames(line.framesAtMiddle);
  return nearestFrame(line.framesAtMiddle + line.ppm * 1e-6 * rate * (at - line.middle));
}

const meanOf = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;
