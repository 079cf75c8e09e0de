/**
 * Tempo and metre to whole frames a bar, rounded once. Every bar line of a steady stretch is a multiple of that length, so
 * loops of any number of bars never drift against each other. Adding rounded beats, or rounding each loop by itself, does
 * drift: at 137 a minute and 44.1 kHz rounded beats are 72 frames off after four minutes.
 */
import { bars, bpm, frames, nearestFrame, QuantityError } from '../units/index.js';
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

/** What a steady stretch repeats. `beats` is a mask: bit j is set where pulse j opens a felt beat (`beatMask`). */
export interface SteadyBar {
  readonly barFrames: Frames;
  readonly pulses: number;
  readonly beats: number;
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

/** Quarter notes a minute, as open formats count: 1.5 times the dotted quarters of 6/8. Exact up to one rounding. */
export const quarterBpm = (tempo: Tempo): Bpm => bpm((tempo.bpm * 4 * tempo.mark.num) / tempo.mark.den);

/** Frames from a bar line to pulse j of its bar: `round(j · barFrames / num)`, halves upwards. Pulse `num` is the next line. */
export const pulseOffset = (j: number, bar: Frames, num: number): Frames => nearestFrame((j * bar) / num);

/** The pulse that has begun last at a frame in [0, bar): the largest j whose `pulseOffset` is not after it. */
export function pulseAt(frameInBar: Frames, bar: Frames, num: number): number {
  const guess = Math.min(num - 1, Math.floor((frameInBar * num) / bar) + 1);
  return pulseOffset(guess, bar, num) <= frameInBar ? guess : guess - 1;
}

/** The line of a bar in a steady stretch that starts at frame 0: `bar × barFrames`, exact. */
export const lineAt = (bar: Bars, length: Frames): Frames => frames(bar * length);

/** The bar of a steady stretch in which a frame lies. Exact: `barAt(lineAt(k)) = k` and one frame earlier `k − 1`. */
export const barAt = (frame: Frames, length: Frames): Bars => bars(Math.floor(frame / length));

/** A grid of one steady stretch, endless both ways. */
export function steadyGrid({ barFrames: length, pulses, beats }: SteadyBar): Grid {
  const openings = Array.from({ length: pulses }, (_, j) => j).filter((j) => (beats >>> j) % 2 === 1);
  const offsets = [...openings, pulses].map((j) => pulseOffset(j, length, pulses));
  return {
    lineOf: (bar) => lineAt(bar, length),
    placeOf(frame) {
      const bar = barAt(frame, length);
      const frameInBar = frames(frame - lineAt(bar, length));
      return { bar, pulse: pulseAt(frameInBar, length, pulses), frameInBar };
    },
    beatsOf: () => offsets,
  };
}
