import { describe, expect, test } from 'vitest';
import type { Stretch } from '../../../src/core/meter/stretch.js';
import { programStretches } from '../../../src/core/program/stretch-arrays.js';
import { QuantityError } from '../../../src/core/units/index.js';
import { CD, DOTTED_QUARTER, EIGHTH, free, gradual, HALF, metre, steady, STUDIO, tempo } from '../meter/given.js';
import { gridOf, lines } from './given.js';

describe('bar lines of published metres', () => {
  // Bar lengths: Standard MIDI Files 1.0, tempo and time signature (seconds of a bar = beats · 60 / bpm; in compound
  // metres the dotted quarter is the beat). Reference tables 1a and 2b: 6/8 at 80 dotted quarters 1.5 s, 12/8 at 60 4 s,
  // 7/8 at 210 eighths 2 s, 2/2 at 60 halves 2 s, 4/4 at 120 quarters 2 s.
  test.each([
    ['6/8', steady(1, metre(6, 8), tempo(80, DOTTED_QUARTER)), 1.5],
    ['12/8', steady(1, metre(12, 8), tempo(60, DOTTED_QUARTER)), 4],
    ['7/8', steady(1, metre(7, 8), tempo(210, EIGHTH)), 2],
    ['2/2', steady(1, metre(2, 2), tempo(60, HALF)), 2],
    ['4/4', steady(1, metre(4, 4), tempo(120)), 2],
  ])('%s', (_, stretch, seconds) => {
    for (const rate of [CD, STUDIO]) {
      expect(gridOf([stretch], rate, true).lineAt(1000)).toBe(1000 * seconds * rate);
    }
  });

  // Reference table 1a (computed): a 4/4 bar at 137 bpm is 1.751825 s; rounded once, at 44.1 kHz 77255 frames, while
  // beats rounded one by one (19314) drift by 72 samples in four minutes (137 bars).
  test('4/4 at 137 bpm does not drift', () => {
    const grid = gridOf([steady(1, metre(4, 4), tempo(137))], CD, true);
    expect(grid.lineAt(137)).toBe(137 * 77_255);
    expect(Math.abs(grid.lineAt(137) / CD - 240)).toBeLessThan((137 * 0.5) / CD);
    expect(4 * 137 * 19_314 - 240 * CD).toBe(72);
  });
});

describe('a section with odd bars, as a loop', () => {
  const verse = [
    steady(3, metre(4, 4), tempo(120)),
    steady(1, metre(2, 4), tempo(120)),
    gradual(2, metre(4, 4), tempo(120), 60),
  ];
  // Three bars of 2 s and one of 1 s; then 2 bars in which the tempo falls from 120 to 60 in a straight line:
  // the integral of 4 · 60 / (120 − 30x) over x in [0, 2] is 8 · ln 2 s.
  const round = 336_000 + Math.round(8 * Math.LN2 * 48_000);

  test('comes again, bar for bar', () => {
    const grid = gridOf(verse, STUDIO, true);
    expect(grid.loopBars).toBe(6);
    expect(lines(grid, 4)).toEqual([0, 96_000, 192_000, 288_000, 336_000]);
    expect([grid.lineAt(6), grid.lineAt(12), grid.lineAt(6_000_000)]).toEqual([round, 2 * round, 1_000_000 * round]);
    expect(grid.pulses(9)).toBe(2);
    expect(grid.weightOf(9, 0)).toBe('bar');
    expect(grid.lineAt(10) - grid.lineAt(9)).toBe(48_000);
  });

  test('may be a rit. alone, or begin in free time', () => {
    const rit = gradual(2, metre(4, 4), tempo(120), 60);
    expect(gridOf([rit], STUDIO, true).lineAt(4)).toBe(2 * Math.round(8 * Math.LN2 * 48_000));
    const grid = gridOf([free(1000), rit], STUDIO, true);
    expect(grid.lineAt(-1)).toBe(-96_000);
    expect(grid.lineAt(4) - grid.lineAt(3)).toBe(1000);
  });
});

test.each<[string, readonly Stretch[], boolean]>([
  ['nothing', [], false],
  ['nothing, as a loop', [], true],
  ['free time alone, as a loop', [free(1000)], true],
  ['a rit. alone, as a form', [gradual(2, metre(4, 4), tempo(120), 60)], false],
  ['a stretch of no bars', [steady(0, metre(4, 4), tempo(120))], true],
])('takes %s for a mistake of the programmer', (_, list, loop) => {
  expect(() => programStretches(list, STUDIO, loop)).toThrow(QuantityError);
});
