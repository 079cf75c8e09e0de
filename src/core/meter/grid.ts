/**
 * Tempo and metre to whole frames a bar, rounded once. Every bar line of a steady stretch is a multiple of that length, so
 * loops of any number of bars never drift against each other. Adding rounded beats, or rounding each loop by itself, does
 * drift: at 137 a minute and 44.1 kHz rounded beats are 72 frames off after four minutes.
 */
import { bpm, nearestFrame, QuantityError } from '../units/index.js';
import type { Bars, Bpm, Frames, SampleRate } from '../units/index.js';
import type { Metre, NoteValue } from './metre.js';

/** `bpm` counts `mark`s: a quarter in 4/4, a dotted quarter in 6/8 counted in two. */
export interface Tempo {
  readonly bpm: Bpm;
  readonly mark: NoteValue;
}

/** The part of a metre that lengths depend on; how it is felt does not matter to them. */
export type BarSize = Pick<Metre, 'num' | 'den'>;

export interface Place {
  readonly bar: Bars;
  /** The pulse of the bar that has begun last, from 0. */
  readonly pulse: number;
  readonly frameInBar: Frames;
}

/** Bars to frames and back. Frame 0 is bar line 0; bars and frames before it are negative. */
export interface Grid {
  /** The frame of the line that opens `bar`. */
  lineOf(bar: Bars): Frames;
  /** Inverse of `lineOf` at the lines: `placeOf(lineOf(k))` is bar k, pulse 0, frame 0. */
  placeOf(frame: Frames): Place;
  /** Frames from the line of `bar` to each of its felt beats: 0 first, the length of the bar last. */
  beatsOf(bar: Bars): readonly Frames[];
}

/** A bar in frames before rounding: `(num/den) / (markNum/markDen) · 60 · rate / bpm`. */
export function exactBarFrames(metre: BarSize, tempo: Tempo, rate: SampleRate): number {
  return (metre.num * tempo.mark.den * 60 * rate) / (metre.den * tempo.mark.num * tempo.bpm);
}

/**
 * The length of a bar: nearest frame, halves upwards, once for a whole steady stretch.
 * @throws {QuantityError} where the tempo leaves a pulse less than a frame.
 */
export function barFrames(metre: BarSize, tempo: Tempo, rate: SampleRate): Frames {
  const exact = exactBarFrames(metre, tempo, rate);
  if (!(exact >= metre.num)) {
    throw new QuantityError(`Got a bar of ${exact} frames when expected at least one for each of ${metre.num} pulses.`);
  }
  return nearestFrame(exact);
}

/**
 * The tempo that sounds when a bar lasts `bar` frames, in `mark`s a minute. For `bar = barFrames(…)` it differs from the
 * one asked for by at most `0.5 / bar` of it.
 */
export function soundingBpm(bar: Frames, metre: BarSize, mark: NoteValue, rate: SampleRate): Bpm {
  return bpm((metre.num * mark.den * 60 * rate) / (metre.den * mark.num * bar));
}

/** Frames from a bar line to pulse j of its bar: `round(j · barFrames / num)`, halves upwards. Pulse `num` is the next line. */
export const pulseOffset = (j: number, bar: Frames, num: number): Frames => nearestFrame((j * bar) / num);
