import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { barFrames, exactBarFrames, pulseOffset, soundingBpm } from '../../../src/core/meter/grid.js';
import type { Metre, NoteValue } from '../../../src/core/meter/metre.js';
import { bars, frames, QuantityError, sampleRate } from '../../../src/core/units/index.js';
import {
  anyMetre,
  anyRate,
  anyTempo,
  CD,
  DOTTED_QUARTER,
  EIGHTH,
  evenBars,
  HALF,
  metre,
  QUARTER,
  STUDIO,
  tempo,
} from './given.js';

const fourFour = metre(4, 4);
const anyBar = fc.integer({ min: -100_000, max: 100_000 }).map(bars);
/** From one frame a pulse to half an hour. */
const anySteadyBar = anyMetre.chain((given) =>
  fc.integer({ min: given.num, max: 1e8 }).map((length) => ({
    barFrames: frames(length),
    given,
  })),
);

describe('barFrames', () => {
  // Seconds per beat = 60 / bpm, samples = seconds × rate: definitions. Samples per beat computed outside this project.
  test.each([
    [60, 44_100, 48_000],
    [90, 29_400, 32_000],
    [96, 27_562.5, 30_000],
    [100, 26_460, 28_800],
    [120, 22_050, 24_000],
    [125, 21_168, 23_040],
    [128, 20_671.875, 22_500],
    [137, 19_313.8686, 21_021.8978],
    [140, 18_900, 20_571.4286],
    [174, 15_206.8966, 16_551.7241],
  ])('a bar of 4/4 at %i has four beats of %f frames at 44.1 kHz and %f at 48 kHz', (value, cd, studio) => {
    expect(exactBarFrames(fourFour, tempo(value), CD) / 4).toBeCloseTo(cd, 4);
    expect(exactBarFrames(fourFour, tempo(value), STUDIO) / 4).toBeCloseTo(studio, 4);
    expect(barFrames(fourFour, tempo(value), CD)).toBe(Math.round(4 * cd));
    expect(barFrames(fourFour, tempo(value), STUDIO)).toBe(Math.round(4 * studio));
  });

  // Compound metre: the beat is the dotted note (Standard MIDI Files 1.0, time signature); lengths by definition.
  test.each<[string, Metre, number, NoteValue, number]>([
    ['6/8, dotted quarter', metre(6, 8), 80, DOTTED_QUARTER, 1.5],
    ['12/8, dotted quarter', metre(12, 8), 60, DOTTED_QUARTER, 4],
    ['7/8, eighth', metre(7, 8), 210, EIGHTH, 2],
    ['2/2, half', metre(2, 2), 60, HALF, 2],
    ['4/4, quarter', metre(4, 4), 120, QUARTER, 2],
  ])('a bar of %s = %s: %s', (_, given, value, mark, time) => {
    for (const rate of [CD, STUDIO]) expect(barFrames(given, tempo(value, mark), rate)).toBe(time * rate);
  });

  test('how a metre is felt does not change its length', () => {
    const uneven = metre(7, 8, 3, 2, 2);
    expect(barFrames(uneven, tempo(210, EIGHTH), CD)).toBe(barFrames(metre(7, 8), tempo(210, EIGHTH), CD));
  });

  test('is the nearest frame to the exact length, halves upwards', () => {
    // 4 × 27,562.5 is whole; three beats of it are not.
    expect(barFrames(metre(3, 4), tempo(96), CD)).toBe(82_688);
    fc.assert(
      fc.property(anyMetre, anyTempo, anyRate, (given, asked, rate) => {
        const exact = exactBarFrames(given, asked, rate);
        expect(Math.abs(barFrames(given, asked, rate) - exact)).toBeLessThanOrEqual(0.5);
      }),
    );
  });

  test('refuses a tempo that leaves a pulse less than a frame', () => {
    expect(() => barFrames(fourFour, tempo(60 * 48_000 + 1), STUDIO)).toThrow(QuantityError);
    expect(barFrames(fourFour, tempo(60 * 48_000), STUDIO)).toBe(4);
  });
});

describe('soundingBpm', () => {
  test('is the tempo asked for where a bar is a whole number of frames', () => {
    expect(soundingBpm(frames(96_000), fourFour, QUARTER, STUDIO)).toBe(120);
    expect(soundingBpm(frames(72_000), metre(6, 8), DOTTED_QUARTER, STUDIO)).toBe(80);
  });

  test('differs from the tempo asked for by at most half a frame in a bar', () => {
    // Arithmetic: |round(x) − x| ≤ 1/2, so |asked − sounding| / asked = |x / round(x) − 1| ≤ 0.5 / round(x).
    fc.assert(
      fc.property(anyMetre, anyTempo, anyRate, (given, asked, rate) => {
        const length = barFrames(given, asked, rate);
        const sounding = soundingBpm(length, given, asked.mark, rate);
        expect(Math.abs(sounding - asked.bpm) / asked.bpm).toBeLessThanOrEqual(0.5 / length + 1e-14);
      }),
    );
  });

  test('is within 4.6 millionths for a bar of 4/4 at 96 and 44.1 kHz or faster rates', () => {
    for (const rate of [CD, STUDIO]) {
      const sounding = soundingBpm(barFrames(fourFour, tempo(96.01), rate), fourFour, QUARTER, rate);
      expect(Math.abs(sounding / 96.01 - 1)).toBeLessThan(4.6e-6);
    }
  });

  test('asked for again, gives the same bar', () => {
    fc.assert(
      fc.property(anyMetre, anyTempo, anyRate, (given, asked, rate) => {
        const length = barFrames(given, asked, rate);
        const sounding = soundingBpm(length, given, asked.mark, rate);
        expect(barFrames(given, { ...asked, bpm: sounding }, rate)).toBe(length);
      }),
    );
  });
});

describe('drift', () => {
  test('at 137 and 44.1 kHz rounded beats would be 72 frames off after four minutes; bars rounded once never drift', () => {
    // Both arithmetic: the beat is 19,313.8686 frames, rounded 0.1314 too long, 548 beats in four minutes.
    const beats = 4 * 137;
    const exactBeat = exactBarFrames(fourFour, tempo(137), CD) / 4;
    const ofRoundedBeats = beats * Math.round(exactBeat) - beats * exactBeat;
    expect(Math.round(ofRoundedBeats)).toBe(72);

    const bar = barFrames(fourFour, tempo(137), CD);
    for (const length of [1, 2, 3, 4, 8, 16]) {
      const loop = length * bar;
      const rounds = Math.floor((beats * bar) / 4 / loop);
      expect(evenBars(fourFour, bar).lineAt(rounds * length)).toBe(rounds * loop);
    }
  });

  test('at 93 and 44.1 kHz a loop of one bar and one of four, each rounded alone, would part by 58 frames in five minutes', () => {
    const exactBar = exactBarFrames(fourFour, tempo(93), CD);
    const fourBars = Math.round(4 * exactBar) - 4 * Math.round(exactBar);
    const loopsOfFour = (5 * 93) / 16;
    expect(Math.round(Math.abs(fourBars) * loopsOfFour)).toBe(58);

    const bar = barFrames(fourFour, tempo(93), CD);
    const grid = evenBars(fourFour, bar);
    expect(grid.lineAt(4) - 4 * grid.lineAt(1)).toBe(0);
  });
});

describe('pulses of a bar', () => {
  test.each([
    [0, 0],
    [1, 1],
    [2, 3],
    [3, 4],
    [4, 5],
  ])('pulse %i of four in five frames lies at %i: nearest, halves up', (pulse, offset) => {
    expect(pulseOffset(pulse, frames(5), 4)).toBe(offset);
  });

  test('rise strictly from the line to the next line', () => {
    fc.assert(
      fc.property(anySteadyBar, ({ barFrames: length, given: { num: pulses } }) => {
        expect(pulseOffset(0, length, pulses)).toBe(0);
        expect(pulseOffset(pulses, length, pulses)).toBe(length);
        for (let j = 0; j < pulses; j++) {
          expect(pulseOffset(j + 1, length, pulses)).toBeGreaterThan(pulseOffset(j, length, pulses));
        }
      }),
    );
  });

  test('each lasts from its own frame to the one before the next pulse', () => {
    fc.assert(
      fc.property(anySteadyBar, ({ barFrames: length, given }) => {
        const grid = evenBars(given, length);
        for (let j = 0; j < given.num; j++) {
          expect(grid.placeOf(pulseOffset(j, length, given.num)).pulse).toBe(j);
          expect(grid.placeOf(frames(pulseOffset(j + 1, length, given.num) - 1)).pulse).toBe(j);
        }
      }),
    );
  });
});

describe('the grid of equal bars', () => {
  test('has every line at a multiple of the bar, and finds it again', () => {
    fc.assert(
      fc.property(anySteadyBar, anyBar, (steady, bar) => {
        const grid = evenBars(steady.given, steady.barFrames);
        expect(grid.lineOf(bar)).toBe(bar * steady.barFrames);
        expect(grid.placeOf(grid.lineOf(bar))).toEqual({ bar, pulse: 0, frameInBar: 0 });
        expect(grid.barAt(grid.lineOf(bar) - 1)).toBe(bar - 1);
      }),
    );
  });

  test('places every frame in one bar and pulse, from which the frame follows', () => {
    fc.assert(
      fc.property(anySteadyBar, fc.integer({ min: -1e12, max: 1e12 }).map(frames), (steady, frame) => {
        const grid = evenBars(steady.given, steady.barFrames);
        const { bar, pulse, frameInBar } = grid.placeOf(frame);
        expect(grid.lineOf(bar) + frameInBar).toBe(frame);
        expect(frameInBar).toBeGreaterThanOrEqual(pulseOffset(pulse, steady.barFrames, steady.given.num));
        expect(frameInBar).toBeLessThan(pulseOffset(pulse + 1, steady.barFrames, steady.given.num));
      }),
    );
  });

  test.each<[string, Metre, number, readonly number[]]>([
    ['4/4', metre(4, 4), 96_000, [0, 24_000, 48_000, 72_000, 96_000]],
    ['6/8', metre(6, 8), 72_000, [0, 36_000, 72_000]],
    ['7/8 as 2+2+3', metre(7, 8), 70_000, [0, 20_000, 40_000, 70_000]],
    ['5/4 as 3+2', metre(5, 4, 3, 2), 50_000, [0, 10_000, 20_000, 30_000, 40_000, 50_000]],
    ['a waltz in one', metre(3, 4, 3), 48_000, [0, 48_000]],
  ])('knows the felt beats of %s', (_, given, length, beats) => {
    const grid = evenBars(given, length);
    expect(grid.beatsOf(bars(7))).toEqual(beats);
  });

  test('at an odd rate too, loops of any length never drift', () => {
    const bar = barFrames(metre(7, 8), tempo(211.37, EIGHTH), sampleRate(22_050));
    const grid = evenBars(metre(7, 8), bar);
    for (const loop of [1, 3, 4, 7, 16]) {
      for (const round of [1, 10, 1000]) {
        expect(grid.lineOf(bars(loop * round))).toBe(round * grid.lineOf(bars(loop)));
      }
    }
  });
});
