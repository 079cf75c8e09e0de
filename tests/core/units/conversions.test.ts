import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  addFrames,
  decibels,
  decibelsFromGain,
  frames,
  framesFromMilliseconds,
  framesFromSeconds,
  gain,
  gainFromDecibels,
  milliseconds,
  millisecondsFromFrames,
  sampleRate,
  seconds,
  secondsFromFrames,
  subtractFrames,
} from '../../../src/core/units/index.js';

const rates = fc.constantFrom(...[44_100, 48_000, 88_200, 96_000, 192_000].map(sampleRate));
/** Four hours at the highest rate, either way. */
const positions = fc.integer({ min: -3e9, max: 3e9 }).map(frames);

describe('frames and time', () => {
  // samples = seconds × rate: definition.
  test.each([
    [48_000, 48_000, 1],
    [44_100, 44_100, 1],
    [22_050, 44_100, 0.5],
    [30_000, 48_000, 0.625],
    [-4800, 48_000, -0.1],
  ])('%i frames at %i frames a second are %f seconds', (count, rate, time) => {
    expect(secondsFromFrames(frames(count), sampleRate(rate))).toBe(time);
    expect(millisecondsFromFrames(frames(count), sampleRate(rate))).toBe(time * 1000);
  });

  test.each([
    [0.5 / 48_000, 1],
    [0.49 / 48_000, 0],
    [-0.5 / 48_000, 0],
    [27.5625 / 48_000, 28],
  ])('%f seconds are %i frames at 48 kHz: the nearest, halves up', (time, count) => {
    expect(framesFromSeconds(seconds(time), sampleRate(48_000))).toBe(count);
  });

  test('300 ms are 13,230 frames at 44.1 kHz', () => {
    expect(framesFromMilliseconds(milliseconds(300), sampleRate(44_100))).toBe(13_230);
  });

  test('frames survive the way to seconds or milliseconds and back', () => {
    fc.assert(
      fc.property(positions, rates, (position, rate) => {
        expect(framesFromSeconds(secondsFromFrames(position, rate), rate)).toBe(position);
        expect(framesFromMilliseconds(millisecondsFromFrames(position, rate), rate)).toBe(position);
      }),
    );
  });

  test('subtracting undoes adding', () => {
    fc.assert(
      fc.property(positions, positions, (a, b) => {
        expect(subtractFrames(addFrames(a, b), b)).toBe(a);
      }),
    );
  });
});

describe('gain and decibels', () => {
  // 20·log10 of an amplitude ratio: definition of the level of a root-power quantity (ISO 80000-3, from memory).
  test.each([
    [1, 0],
    [10, 20],
    [0.1, -20],
    [0.5, -6.0206],
    [2, 6.0206],
    [Math.SQRT1_2, -3.0103],
  ])('gain %f is %f dB', (amplitude, level) => {
    expect(decibelsFromGain(gain(amplitude))).toBeCloseTo(level, 4);
    expect(gainFromDecibels(decibels(level))).toBeCloseTo(amplitude, 4);
  });

  test('no gain is −∞ dB, and −∞ dB no gain', () => {
    expect(decibelsFromGain(gain(0))).toBe(-Infinity);
    expect(gainFromDecibels(decibels(-Infinity))).toBe(0);
  });

  test('polarity is not part of a level', () => {
    expect(decibelsFromGain(gain(-0.5))).toBe(decibelsFromGain(gain(0.5)));
  });

  test('a level survives the way to a gain and back', () => {
    fc.assert(
      fc.property(fc.double({ min: -120, max: 40, noNaN: true }), (level) => {
        expect(decibelsFromGain(gainFromDecibels(decibels(level)))).toBeCloseTo(level, 9);
      }),
    );
  });
});
