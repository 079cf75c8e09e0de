/** The only conversions between quantities. Each says how it rounds. */
import type { Decibels, Frames, Gain, Milliseconds, SampleRate, Seconds } from './quantities.js';
import { decibels, frames, gain, milliseconds, nearestFrame, seconds } from './quantities.js';

export const addFrames = (a: Frames, b: Frames): Frames => frames(a + b);
export const subtractFrames = (a: Frames, b: Frames): Frames => frames(a - b);

/** Exact up to one rounding of a double. */
export const secondsFromFrames = (value: Frames, rate: SampleRate): Seconds => seconds(value / rate);
/** Nearest frame, halves upwards. */
export const framesFromSeconds = (value: Seconds, rate: SampleRate): Frames => nearestFrame(value * rate);
export const millisecondsFromFrames = (value: Frames, rate: SampleRate): Milliseconds =>
  milliseconds((value * 1000) / rate);
/** Nearest frame, halves upwards. */
export const framesFromMilliseconds = (value: Milliseconds, rate: SampleRate): Frames =>
  nearestFrame((value * rate) / 1000);

/** `20·log10(gain)`; −∞ for zero; the sign of the gain (polarity) is not part of a level. */
export const decibelsFromGain = (value: Gain): Decibels => decibels(20 * Math.log10(Math.abs(value)));
/** `10^(dB/20)`; zero for −∞. */
export const gainFromDecibels = (value: Decibels): Gain => gain(10 ** (value / 20));
