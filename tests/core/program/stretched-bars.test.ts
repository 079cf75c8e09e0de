import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { barFrames } from '../../../src/core/meter/grid.js';
import { lineForFinish, lineForStart } from '../../../src/core/meter/presses.js';
import type { Stretch } from '../../../src/core/meter/stretch.js';
import { ProgramGrid } from '../../../src/core/program/program-grid.js';
import { STANDSTILL } from '../../../src/core/program/program.js';
import { programStretches } from '../../../src/core/program/stretch-arrays.js';
import { endStandstill } from '../../../src/core/program/stretch-changes.js';
import { bars, frames, type SampleRate } from '../../../src/core/units/index.js';
import {
  anyMetre,
  anyRate,
  anyStretches,
  anyTempo,
  CD,
  DOTTED_QUARTER,
  EIGHTH,
  evenBars,
  free,
  gradual,
  hold,
  holdBeats,
  metre,
  steady,
  STUDIO,
  tempo,
  untilPressed,
} from '../meter/given.js';
import { lines } from './given.js';

/** The bars of a list that is played once, and goes on in its last steady stretch. */
const build = (stretches: readonly Stretch[], rate: SampleRate = STUDIO): ProgramGrid =>
  new ProgramGrid(programStretches(stretches, rate, false));
const ended = (grid: ProgramGrid, at: number): ProgramGrid => new ProgramGrid(endStandstill(grid, at));

const pulsesOf = (grid: ProgramGrid, bar: number): readonly number[] =>
  Array.from({ length: grid.pulses(bar) }, (_, pulse) => grid.pulseOf(bar, pulse));

const anyGrid = fc.tuple(anyStretches, anyRate).map(([stretches, rate]) => build(stretches, rate));

describe('one steady stretch', () => {
  test('is the steady grid, before line 0 and behind its last bar too', () => {
    fc.assert(
      fc.property(anyMetre, anyTempo, anyRate, fc.integer({ min: -500, max: 500 }), (given, asked, rate, at) => {
        const length = barFrames(given, asked, rate);
        const even = evenBars(given, length);
        const grid = build([steady(8, given, asked)], rate);
        const frame = frames(Math.floor((at * length) / 17));
        expect(grid.lineAt(at)).toBe(at * length);
        expect(grid.placeOf(frame)).toEqual(even.placeOf(frame));
        expect(grid.beatsOf(bars(at))).toEqual(even.beatsOf(bars(at)));
      }),
    );
  });

  test('never lets loops of any length drift, however long', () => {
    fc.assert(
      fc.property(
        anyMetre,
        anyTempo,
        anyRate,
        fc.integer({ min: 0, max: 9999 }),
        fc.integer({ min: 1, max: 64 }),
        (given, asked, rate, bar, loop) => {
          const grid = build([steady(9999, given, asked)], rate);
          expect(grid.lineAt(bar + loop) - grid.lineAt(bar)).toBe(loop * barFrames(given, asked, rate));
        },
      ),
    );
  });
});

describe('a list of stretches', () => {
  test('changes tempo and metre at bar lines', () => {
    const grid = build([
      steady(2, metre(4, 4), tempo(120)),
      steady(1, metre(2, 4), tempo(120)),
      steady(2, metre(6, 8), tempo(80, DOTTED_QUARTER)),
      steady(1, metre(7, 8), tempo(210, EIGHTH)),
    ]);
    expect(lines(grid, 6)).toEqual([0, 96_000, 192_000, 240_000, 312_000, 384_000, 480_000]);
    expect(grid.endBar).toBe(6);
    expect(grid.lineAt(grid.endBar)).toBe(480_000);
    expect(grid.pulses(2)).toBe(2);
    expect(grid.pulses(3)).toBe(6);
    expect(grid.pulses(6)).toBe(7);
    expect(grid.beatsOf(bars(3))).toEqual([0, 36_000, 72_000]);
    expect(pulsesOf(grid, 2)).toEqual([192_000, 216_000]);
    expect(grid.placeOf(frames(239_999))).toEqual({ bar: 2, pulse: 1, frameInBar: 47_999 });
    expect(grid.placeOf(frames(240_000))).toEqual({ bar: 3, pulse: 0, frameInBar: 0 });
  });

  test('goes on for ever in its last steady stretch, and backwards in its first measured one', () => {
    const grid = build([
      free(1000),
      gradual(2, metre(3, 4), tempo(60), 120),
      steady(4, metre(4, 4), tempo(120)),
      gradual(2, metre(4, 4), tempo(120), 60),
    ]);
    expect(grid.endBar).toBe(9);
    const end = grid.lineAt(9);
    expect(end).toBe(grid.lineAt(grid.endBar));
    expect(grid.lineAt(109) - end).toBe(100 * 96_000);
    expect(grid.pulses(109)).toBe(4);
    expect(grid.lineAt(-2)).toBe(-2 * 144_000);
    expect(grid.pulses(-1)).toBe(3);
    expect(grid.placeOf(frames(-1))).toEqual({ bar: -1, pulse: 2, frameInBar: 143_999 });
  });

  test('takes presses as a grid: the beats are those of the bar that was heard', () => {
    const grid = build([steady(1, metre(4, 4), tempo(120)), steady(1, metre(2, 4), tempo(60))]);
    expect(lineForStart(frames(24_000), grid)).toBe(0);
    expect(lineForStart(frames(24_001), grid)).toBe(1);
    expect(lineForStart(frames(96_000 + 48_000), grid)).toBe(1);
    expect(lineForFinish(frames(96_000 + 47_999), grid, { fromBar: bars(0) })).toBe(1);
    expect(lineForFinish(frames(96_000 + 48_000), grid, { fromBar: bars(0) })).toBe(2);
  });
});

describe('every grid', () => {
  const reach = (grid: ProgramGrid, count: number) => bars(Math.floor(count * (grid.endBar + 6)) - 3);

  test('has strictly rising lines, and pulses that rise strictly from line to line', () => {
    fc.assert(
      fc.property(anyGrid, (grid) => {
        for (let bar = bars(-3); bar < grid.endBar + 3; bar = bars(bar + 1)) {
          const rising = [...pulsesOf(grid, bar), grid.lineAt(bar + 1)];
          expect(rising[0]).toBe(grid.lineOf(bar));
          expect(rising).toHaveLength(grid.pulses(bar) + 1);
          for (let i = 1; i < rising.length; i++) expect(rising[i]).toBeGreaterThan(rising[i - 1]!);
        }
      }),
    );
  });

  test('finds every bar and pulse again at its first and its last frame', () => {
    fc.assert(
      fc.property(anyGrid, (grid) => {
        for (let bar = bars(-3); bar < grid.endBar + 3; bar = bars(bar + 1)) {
          expect(grid.placeOf(grid.lineOf(bar))).toEqual({ bar, pulse: 0, frameInBar: 0 });
          const pulses = [...pulsesOf(grid, bar), grid.lineAt(bar + 1)];
          for (let pulse = 0; pulse + 1 < pulses.length; pulse++) {
            expect(grid.placeOf(frames(pulses[pulse]!))).toMatchObject({ bar, pulse });
            expect(grid.placeOf(frames(pulses[pulse + 1]! - 1))).toMatchObject({ bar, pulse });
          }
        }
      }),
    );
  });

  test('places every frame so that the frame follows from its place', () => {
    const share = fc.double({ min: 0, max: 1, noNaN: true });
    fc.assert(
      fc.property(anyGrid, share, (grid, part) => {
        const first = grid.lineAt(-3);
        const frame = frames(first + Math.floor(part * (grid.lineAt(grid.endBar + 3) - first)));
        const { bar, frameInBar } = grid.placeOf(frame);
        expect(grid.lineOf(bar) + frameInBar).toBe(frame);
        expect(frameInBar).toBeGreaterThanOrEqual(0);
        expect(frameInBar).toBeLessThan(grid.barFrames(bar));
      }),
    );
  });

  test('is as long as the sum of its bars', () => {
    fc.assert(
      fc.property(anyGrid, (grid) => {
        let sum = 0;
        for (let bar = 0; bar < grid.endBar; bar++) sum += grid.barFrames(bar);
        expect(grid.lineAt(grid.endBar)).toBe(sum);
      }),
    );
  });

  test('has felt beats from 0 to the length of each bar, each on a pulse', () => {
    const share = fc.double({ min: 0, max: 0.999, noNaN: true });
    fc.assert(
      fc.property(anyGrid, share, (grid, part) => {
        const bar = reach(grid, part);
        const beats = grid.beatsOf(bar);
        const pulses = pulsesOf(grid, bar).map((frame) => frame - grid.lineOf(bar));
        expect(beats[0]).toBe(0);
        expect(beats.at(-1)).toBe(grid.barFrames(bar));
        expect([...pulses, grid.barFrames(bar)]).toEqual(expect.arrayContaining([...beats]));
      }),
    );
  });
});

describe('a gradual change of tempo', () => {
  test('lasts as long as the integral of a tempo that changes in a straight line over the bars', () => {
    // ∫₀⁸ 4·60·48000 / (120 − 7.5x) dx = 11,520,000 · ln(2) / 7.5 frames; half-way, at bar 4, the tempo is 90.
    const grid = build([gradual(8, metre(4, 4), tempo(120), 60), steady(1, metre(4, 4), tempo(60))]);
    expect(grid.lineAt(8)).toBe(Math.round((11_520_000 * Math.LN2) / 7.5));
    expect(grid.lineAt(4)).toBe(Math.round((11_520_000 * Math.log(120 / 90)) / 7.5));
  });

  test('agrees with adding up a great many small steps of the tempo', () => {
    const asked = tempo(70, EIGHTH);
    const grid = build([gradual(3, metre(7, 8), asked, 200), steady(1, metre(7, 8), asked)], CD);
    const steps = 21_000;
    let time = 0;
    for (let i = 0; i < steps; i++) {
      if (i % 1000 === 0) {
        const pulse = i / 1000;
        const bar = Math.floor(pulse / 7);
        expect(Math.abs(pulsesOf(grid, bar)[pulse % 7]! - time)).toBeLessThan(0.51);
      }
      const value = 70 + (130 * (i + 0.5)) / steps;
      time += (60 * CD) / value / 1000;
    }
    expect(Math.abs(grid.lineAt(3) - time)).toBeLessThan(0.51);
  });

  test.each([
    ['rit.', 120, 60],
    ['accel.', 60, 120],
  ])('%s: every pulse is longer or shorter than the one before, through bar lines too', (_, from, to) => {
    const grid = build([gradual(4, metre(4, 4), tempo(from), to), steady(1, metre(4, 4), tempo(to))]);
    const pulses = [0, 1, 2, 3].flatMap((bar) => [...pulsesOf(grid, bar)]);
    const lengths = [...pulses, grid.lineAt(4)].slice(1).map((frame, i) => frame - pulses[i]!);
    const falling = from < to;
    for (let i = 1; i < lengths.length; i++) expect(lengths[i]! < lengths[i - 1]!).toBe(falling);
    expect(Math.abs(lengths[0]! / ((60 * STUDIO) / from) - 1)).toBeLessThan(0.04);
    expect(Math.abs(lengths.at(-1)! / ((60 * STUDIO) / to) - 1)).toBeLessThan(0.04);
  });

  test('a rit. and the accel. that mirrors it last equally long', () => {
    const slower = build([gradual(6, metre(6, 8), tempo(90, DOTTED_QUARTER), 50), steady(1, metre(6, 8), tempo(50))]);
    const faster = build([gradual(6, metre(6, 8), tempo(50, DOTTED_QUARTER), 90), steady(1, metre(6, 8), tempo(50))]);
    expect(Math.abs(slower.lineAt(6) - faster.lineAt(6))).toBeLessThanOrEqual(1);
  });

  test('to the same tempo is a steady stretch, each line rounded', () => {
    const grid = build([gradual(8, metre(4, 4), tempo(137), 137), steady(1, metre(4, 4), tempo(137))], CD);
    for (let bar = 0; bar <= 8; bar++) {
      expect(grid.lineAt(bar)).toBe(Math.round((bar * 4 * 60 * 44_100) / 137));
    }
  });

  test('to almost the same tempo stays as exact', () => {
    const near = build([gradual(8, metre(4, 4), tempo(120), 120 + 1e-9), steady(1, metre(4, 4), tempo(120))]);
    expect(lines(near, 8)).toEqual(Array.from({ length: 9 }, (_, bar) => bar * 96_000));
  });
});

describe('a fermata', () => {
  test('makes its beat longer and moves everything behind it, nothing before it', () => {
    const grid = build([steady(3, metre(4, 4), tempo(120), holdBeats(1, 2, 2))]);
    expect(lines(grid, 3)).toEqual([0, 96_000, 240_000, 336_000]);
    expect(pulsesOf(grid, 1)).toEqual([96_000, 120_000, 144_000, 216_000]);
    expect(grid.beatsOf(bars(1))).toEqual([0, 24_000, 48_000, 120_000, 144_000]);
    expect(grid.lineAt(4)).toBe(432_000);
    expect(grid.barFrames(3)).toBe(96_000);
  });

  test('on the last beat moves the next line', () => {
    const grid = build([steady(1, metre(3, 4), tempo(60), holdBeats(0, 2, 1.5))]);
    expect(grid.lineAt(grid.endBar)).toBe(3 * 48_000 + 72_000);
  });

  test('counts in the length of the felt beat that it holds; its pulses keep their pace', () => {
    const grid = build([steady(1, metre(7, 8), tempo(240, EIGHTH), holdBeats(0, 2, 1))]);
    expect(pulsesOf(grid, 0)).toEqual([0, 1, 2, 3, 4, 5, 6].map((pulse) => pulse * 12_000));
    expect(grid.lineAt(grid.endBar)).toBe(7 * 12_000 + 3 * 12_000);
  });

  test('may stand more than once in a bar, in any order of the list, and within a rit.', () => {
    const holds = [holdBeats(1, 3, 1), holdBeats(0, 0, 1), holdBeats(1, 1, 2)];
    const grid = build([steady(2, metre(4, 4), tempo(120), ...holds)]);
    expect(lines(grid, 2)).toEqual([0, 120_000, 288_000]);

    const plain = build([gradual(2, metre(4, 4), tempo(120), 60), steady(1, metre(4, 4), tempo(60))]);
    const held = build([
      gradual(2, metre(4, 4), tempo(120), 60, hold(1, 3, { type: 'frames', frames: frames(1000) })),
      steady(1, metre(4, 4), tempo(60)),
    ]);
    expect(pulsesOf(held, 1)).toEqual(pulsesOf(plain, 1));
    expect(held.lineAt(2) - plain.lineAt(2)).toBe(1000);
  });
});

describe('free time', () => {
  test('is one bar as long as it was recorded, without metre', () => {
    const grid = build([steady(1, metre(4, 4), tempo(120)), free(123_457), steady(1, metre(4, 4), tempo(120))]);
    expect(lines(grid, 3)).toEqual([0, 96_000, 219_457, 315_457]);
    expect(grid.weightOf(1, 0)).toBe('none');
    expect(pulsesOf(grid, 1)).toEqual([96_000]);
    expect(grid.beatsOf(bars(1))).toEqual([0, 123_457]);
    expect(grid.placeOf(frames(219_456))).toEqual({ bar: 1, pulse: 0, frameInBar: 123_456 });
  });
});

describe('a standstill until a press', () => {
  const list = [steady(2, metre(4, 4), tempo(120), untilPressed(1, 1)), free(null), steady(2, metre(4, 4), tempo(120))];

  test('leaves everything behind it without a place', () => {
    const grid = build(list);
    expect(grid.lineAt(grid.endBar)).toBeGreaterThan(STANDSTILL);
    expect(grid.endBar).toBe(5);
    expect(grid.standstill).toMatchObject({ bar: 1, from: 96_000 + 48_000 });
    expect(grid.lineAt(1)).toBe(96_000);
    expect(pulsesOf(grid, 1).slice(0, 2)).toEqual([96_000, 120_000]);
    for (const pulse of [2, 3, 4]) expect(grid.pulseOf(1, pulse)).toBeGreaterThan(STANDSTILL);
    expect(grid.beatsOf(bars(1))).toEqual([0, 24_000]);
    expect(grid.placeOf(frames(1e12))).toEqual({ bar: 1, pulse: 1, frameInBar: 1e12 - 96_000 });
  });

  test('ended by presses one after the other becomes lengths like any other', () => {
    const first = ended(build(list), 200_000);
    expect(pulsesOf(first, 1)).toEqual([96_000, 120_000, 200_000, 224_000]);
    expect(first.standstill).toMatchObject({ bar: 2, from: 248_000 });
    expect(first.placeOf(frames(1e9))).toEqual({ bar: 2, pulse: 0, frameInBar: 1e9 - 248_000 });

    const second = ended(first, 300_001);
    expect(second.standstill).toBeNull();
    expect(second.weightOf(2, 0)).toBe('none');
    expect(lines(second, 5)).toEqual([0, 96_000, 248_000, 300_001, 396_001, 492_001]);
    expect(second.lineAt(second.endBar)).toBe(492_001);
  });

  test('is over at once where the press came before it began', () => {
    const first = ended(build(list), 100);
    expect(first.standstill).toMatchObject({ bar: 2, from: 192_000 });
    expect(ended(first, 100).lineAt(3)).toBe(192_001);
  });

  test('with an earlier hold in its bar begins later', () => {
    const grid = build([steady(1, metre(4, 4), tempo(120), untilPressed(0, 2), holdBeats(0, 0, 1))]);
    expect(grid.standstill).toMatchObject({ bar: 0, from: 96_000 });
  });

  test('the earlier of two in a bar comes first', () => {
    const grid = build([steady(1, metre(4, 4), tempo(120), untilPressed(0, 2), untilPressed(0, 0))]);
    expect(grid.standstill).toMatchObject({ bar: 0, from: 24_000 });
    const next = ended(grid, 30_000);
    expect(pulsesOf(next, 0).slice(0, 3)).toEqual([0, 30_000, 54_000]);
    expect(next.standstill).toMatchObject({ bar: 0, from: 78_000 });
  });

  test('the earlier of two in a stretch comes first', () => {
    const grid = build([steady(4, metre(4, 4), tempo(120), untilPressed(3, 0), untilPressed(1, 0))]);
    expect(grid.standstill).toMatchObject({ bar: 1, from: 120_000 });
    expect(ended(grid, 120_000).standstill).toMatchObject({ bar: 3, from: 3 * 96_000 + 24_000 });
  });

  test('a grid without one is not changed by ending it', () => {
    const grid = build([steady(1, metre(4, 4), tempo(120))]);
    expect(endStandstill(grid, 5)).toBe(grid.stretches);
  });
});
