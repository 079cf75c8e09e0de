import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { feltBeats } from '../../../src/core/meter/metres.js';
import { ProgramGrid, type Weight } from '../../../src/core/program/program-grid.js';
import { STANDSTILL } from '../../../src/core/program/program.js';
import { bars, frames, QuantityError } from '../../../src/core/units/index.js';
import type { StretchTable } from '../../support/stretch-table.js';
import {
  anyMetre,
  anyStretches,
  anyTempo,
  free,
  holdBeats,
  metre,
  steady,
  tempo,
  untilPressed,
} from '../meter/given.js';
import { anyProgramRate, anyStandingStretches, barsAround, gridOf, tableOf } from './given.js';

/** What the published metre says of a pulse, read off its felt beats. */
function weightIn(table: StretchTable, bar: number, pulse: number): Weight {
  const given = table.metreOf(bars(bar));
  const beat = given === null ? undefined : feltBeats(given).find(({ start }) => start === pulse);
  if (beat === undefined) return 'none';
  return beat.accent === 'none' ? 'beat' : beat.accent;
}

const share = fc.double({ min: 0, max: 0.999_999, noNaN: true });

describe('the grid of a program equals its table', () => {
  test('at every bar line and every pulse, with its weight, before line 0 and behind the last bar too', () => {
    fc.assert(
      fc.property(anyStretches, anyProgramRate, (list, rate) => {
        const table = tableOf(list, rate);
        const grid = gridOf(list, rate);
        for (const bar of barsAround(table.bars)) {
          const pulses = table.pulseFrames(bar);
          const line = table.lineOf(bar);
          const next = table.lineOf(bars(bar + 1));
          expect(grid.lineAt(bar)).toBe(line);
          expect(grid.lineOf(bar)).toBe(line);
          expect(grid.barFrames(bar)).toBe(next - line);
          expect(grid.pulses(bar)).toBe(pulses.length);
          expect(grid.beatsOf(bar)).toEqual(table.beatsOf(bar));
          expect([grid.barAt(line), grid.barAt(next - 1)]).toEqual([bar, bar]);
          [...pulses, next].forEach((frame, pulse) => {
            expect(grid.pulseOf(bar, pulse)).toBe(frame);
          });
          pulses.forEach((_, pulse) => {
            expect(grid.weightOf(bar, pulse)).toBe(weightIn(table, bar, pulse));
            expect(grid.isBeat(bar, pulse)).toBe(weightIn(table, bar, pulse) !== 'none');
          });
        }
      }),
    );
  });

  test('at random frames', () => {
    fc.assert(
      fc.property(
        anyStretches,
        anyProgramRate,
        fc.array(share, { minLength: 20, maxLength: 20 }),
        (list, rate, parts) => {
          const table = tableOf(list, rate);
          const grid = gridOf(list, rate);
          const first = table.lineOf(bars(-3));
          const last = table.lineOf(bars(table.bars + 5));
          for (const part of parts) {
            const frame = frames(first + Math.floor(part * (last - first)));
            expect(grid.placeOf(frame)).toEqual(table.placeOf(frame));
            expect(grid.barAt(frame)).toBe(table.placeOf(frame).bar);
          }
        },
      ),
    );
  });

  test('for hours: the same lines and places a million bars on', () => {
    fc.assert(
      fc.property(anyStretches, anyProgramRate, fc.integer({ min: 0, max: 1_000_000 }), (list, rate, bar) => {
        const table = tableOf(list, rate);
        const grid = gridOf(list, rate);
        const line = table.lineOf(bars(bar));
        expect(grid.lineAt(bar)).toBe(line);
        expect(grid.barAt(line)).toBe(bar);
        expect(grid.barAt(line - 1)).toBe(bar - 1);
      }),
    );
  });

  test('up to where time stands still; behind it no position is ever reached', () => {
    fc.assert(
      fc.property(anyStandingStretches, anyProgramRate, share, (list, rate, part) => {
        const table = tableOf(list, rate);
        const grid = gridOf(list, rate);
        const { standstill } = table;
        if (standstill === null) throw new Error('Got no standstill when expected one.');
        expect(grid.standstill).toMatchObject(standstill);
        for (let bar = bars(-2); bar <= standstill.bar; bar = bars(bar + 1)) {
          expect(grid.lineAt(bar)).toBe(table.lineOf(bar));
          expect(grid.beatsOf(bar)).toEqual(table.beatsOf(bar));
          table.pulseFrames(bar).forEach((frame, pulse) => {
            expect(grid.pulseOf(bar, pulse)).toBe(frame);
          });
        }
        const known = table.pulseFrames(standstill.bar).length;
        for (let pulse = known; pulse <= grid.pulses(standstill.bar); pulse++) {
          expect(grid.pulseOf(standstill.bar, pulse)).toBeGreaterThanOrEqual(STANDSTILL);
        }
        expect(() => table.lineOf(bars(standstill.bar + 1))).toThrow(QuantityError);
        expect(grid.lineOf(bars(standstill.bar + 1))).toBeGreaterThanOrEqual(STANDSTILL);
        for (const frame of [0, standstill.from - 1, standstill.from, standstill.from + Math.floor(part * 1e10)]) {
          expect(grid.placeOf(frames(frame))).toEqual(table.placeOf(frames(frame)));
          expect(grid.standsStillAt(frame)).toBe(frame >= standstill.from);
        }
      }),
    );
  });

  test('the held beat begins where its pulses begin', () => {
    const grid = gridOf([steady(2, metre(6, 8), tempo(60), untilPressed(1, 1)), free(null)]);
    // Eighths are 24,000 frames at 60 quarters: bar 1 at 144,000, its second beat at 216,000, held from 288,000.
    expect(grid.standstill).toMatchObject({ bar: 1, heldFrom: 216_000, from: 288_000 });
    expect(gridOf([free(null), steady(1, metre(4, 4), tempo(60))]).standstill).toMatchObject({ heldFrom: 0, from: 0 });
  });
});

describe('a program that is a loop', () => {
  test('has bar k + n rounds at the line of k and n lengths, exactly, with the same pulses', () => {
    fc.assert(
      fc.property(anyStretches, anyProgramRate, fc.integer({ min: 1, max: 100_000 }), (list, rate, n) => {
        const table = tableOf(list, rate);
        const grid = gridOf(list, rate, true);
        const length = table.frames ?? NaN;
        for (let bar = bars(0); bar < table.bars; bar = bars(bar + 1)) {
          const later = bar + n * table.bars;
          expect(grid.lineAt(later)).toBe(table.lineOf(bar) + n * length);
          expect(grid.barAt(grid.lineAt(later))).toBe(later);
          expect(grid.barAt(grid.lineAt(later) - 1)).toBe(later - 1);
          expect(grid.beatsOf(bars(later))).toEqual(table.beatsOf(bar));
          table.pulseFrames(bar).forEach((frame, pulse) => {
            expect(grid.pulseOf(later, pulse)).toBe(frame + n * length);
            expect(grid.weightOf(later, pulse)).toBe(weightIn(table, bar, pulse));
          });
        }
      }),
    );
  });

  test('is counted in like its table', () => {
    fc.assert(
      fc.property(anyStretches, anyProgramRate, (list, rate) => {
        const table = tableOf(list, rate);
        const grid = gridOf(list, rate, true);
        for (const bar of [-2, -1].map(bars)) {
          expect(grid.lineAt(bar)).toBe(table.lineOf(bar));
          expect(grid.beatsOf(bar)).toEqual(table.beatsOf(bar));
        }
      }),
    );
  });

  test('places a frame in the round in which it lies', () => {
    const grid = gridOf([steady(1, metre(4, 4), tempo(120)), steady(1, metre(2, 4), tempo(120))], undefined, true);
    expect(grid.placeOf(frames(10 * 144_000 + 96_000 + 24_000))).toEqual({ bar: 21, pulse: 1, frameInBar: 24_000 });
    expect(grid.placeOf(frames(10 * 144_000 - 1))).toEqual({ bar: 19, pulse: 1, frameInBar: 47_999 });
  });

  test('of equal bars is the same array however many they are', () => {
    fc.assert(
      fc.property(anyMetre, anyTempo, anyProgramRate, fc.integer({ min: 2, max: 64 }), (given, asked, rate, count) => {
        const one = gridOf([steady(1, given, asked)], rate, true);
        expect(gridOf([steady(count, given, asked)], rate, true).stretches).toEqual(one.stretches);
      }),
    );
  });
});

describe('what clicks', () => {
  test('ends with the last bar of a program that ends, and never in a loop', () => {
    const list = [steady(3, metre(4, 4), tempo(120)), steady(1, metre(2, 4), tempo(120))];
    expect(gridOf(list).endBar).toBe(4);
    expect(gridOf(list, undefined, true).endBar).toBe(Infinity);
  });

  test('is nothing in free time', () => {
    const grid = gridOf([steady(1, metre(4, 4), tempo(120)), free(50_000), steady(1, metre(4, 4), tempo(120))]);
    expect(grid.isBeat(1, 0)).toBe(false);
    expect(grid.weightOf(1, 0)).toBe('none');
    expect([grid.weightOf(0, 0), grid.weightOf(2, 0)]).toEqual(['bar', 'bar']);
  });
});

describe('a grid', () => {
  test('takes one row for any number of equal bars, and one for each odd one', () => {
    const rowsIn = (grid: ProgramGrid): number => grid.stretches[0] ?? NaN;
    expect(rowsIn(gridOf([steady(9999, metre(4, 4), tempo(120))]))).toBe(2);
    expect(rowsIn(gridOf([steady(9999, metre(4, 4), tempo(120), holdBeats(70, 3, 2))]))).toBe(4);
  });

  test.each([
    ['nothing', []],
    ['a header alone', [1, 0, 0, 0, Infinity]],
    ['fewer numbers than its rows need', [...gridOf([steady(1, metre(4, 4), tempo(120))]).stretches.slice(0, -1)]],
  ])('refuses an array of %s', (_, numbers) => {
    expect(() => new ProgramGrid(Float64Array.from(numbers))).toThrow(/^Got \d+ rows in \d+ numbers when expected/);
  });
});
