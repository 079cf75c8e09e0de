import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { ProgramGrid } from '../../../src/core/program/program-grid.js';
import { endStandstill, spliceBars } from '../../../src/core/program/stretch-changes.js';
import { frames } from '../../../src/core/units/index.js';
import { endedTable } from '../../support/stretch-table.js';
import { anyStretches, free, gradual, holdBeats, metre, steady, tempo, untilPressed } from '../meter/given.js';
import { anyProgramRate, anyStandingStretches, gridOf, lines, tableOf } from './given.js';

const ended = (grid: ProgramGrid, at: number): ProgramGrid => new ProgramGrid(endStandstill(grid, at));
const spliced = (before: ProgramGrid, after: ProgramGrid, bar: number): ProgramGrid =>
  new ProgramGrid(spliceBars(before, after, bar));

describe('ending a standstill', () => {
  const late = fc.integer({ min: -200_000, max: 10_000_000 });

  test('gives the very array of the table in which it was ended, one press after the other', () => {
    fc.assert(
      fc.property(
        anyStandingStretches,
        anyProgramRate,
        fc.array(late, { minLength: 3, maxLength: 3 }),
        (list, rate, presses) => {
          let table = tableOf(list, rate);
          let grid = gridOf(list, rate);
          for (const after of presses) {
            const at = frames((table.standstill?.from ?? 0) + after);
            table = endedTable(table, at);
            grid = ended(grid, at);
            expect(grid.stretches).toEqual(gridOf(table.stretches, rate).stretches);
          }
          expect(grid.standstill).toBeNull();
        },
      ),
    );
  });

  test('moves nothing before it, and everything behind it by one and the same', () => {
    fc.assert(
      fc.property(anyStandingStretches, anyProgramRate, late, (list, rate, after) => {
        const before = gridOf(list, rate);
        const still = before.standstill;
        if (still === null) throw new Error('Got no standstill when expected one.');
        const grid = ended(before, still.from + after);
        for (let bar = -2; bar <= still.bar; bar++) expect(grid.lineAt(bar)).toBe(before.lineAt(bar));
        const by = grid.lineAt(still.bar + 1) - before.lineAt(still.bar + 1);
        for (let bar = still.bar + 1; bar < still.bar + 20; bar++) {
          expect(grid.lineAt(bar) - before.lineAt(bar)).toBe(by);
        }
      }),
    );
  });

  test('in a loop makes every round as long as the first', () => {
    const list = [steady(2, metre(4, 4), tempo(120), untilPressed(1, 3)), free(null)];
    const first = ended(gridOf(list, undefined, true), 192_000 + 5000);
    expect(lines(first, 2)).toEqual([0, 96_000, 197_000]);
    const second = ended(first, 197_000 + 60_001);
    expect(lines(second, 6)).toEqual([0, 96_000, 197_000, 257_001, 353_001, 454_001, 514_002]);
    expect(second.loopBars).toBe(3);
  });

  test('changes nothing where time does not stand still', () => {
    const grid = gridOf([steady(2, metre(4, 4), tempo(120))]);
    expect(endStandstill(grid, 5)).toBe(grid.stretches);
  });
});

describe('other bar lines from a line on', () => {
  test('leave what is before where it was; from there on every bar has the new length, pulses and number', () => {
    fc.assert(
      fc.property(
        fc.tuple(anyStretches, fc.boolean()),
        fc.tuple(anyStretches, fc.boolean()),
        anyProgramRate,
        fc.integer({ min: 0, max: 60 }),
        ([one, oneLoops], [two, twoLoops], rate, bar) => {
          const before = gridOf(one, rate, oneLoops);
          const after = gridOf(two, rate, twoLoops);
          const grid = spliced(before, after, bar);
          for (let b = -2; b <= bar; b++) expect(grid.lineAt(b)).toBe(before.lineAt(b));
          const moved = before.lineAt(bar) - after.lineAt(bar);
          for (const b of [...Array.from({ length: 40 }, (_, i) => bar + i), 10_000, 10_001]) {
            expect(grid.lineAt(b)).toBe(after.lineAt(b) + moved);
            expect(grid.barAt(grid.lineAt(b))).toBe(b);
            for (let pulse = 0; pulse < after.pulses(b); pulse++) {
              expect(grid.pulseOf(b, pulse)).toBe(after.pulseOf(b, pulse) + moved);
              expect(grid.weightOf(b, pulse)).toBe(after.weightOf(b, pulse));
            }
          }
          for (let b = 0; b < bar; b++) {
            for (let pulse = 0; pulse < before.pulses(b); pulse++) {
              expect(grid.pulseOf(b, pulse)).toBe(before.pulseOf(b, pulse));
            }
          }
          expect(grid.endBar).toBe(after.endBar);
        },
      ),
    );
  });

  test('change again and again, each from its own line on', () => {
    const four = gridOf([steady(4, metre(4, 4), tempo(120))], undefined, true);
    const three = gridOf([steady(4, metre(3, 4), tempo(120))], undefined, true);
    const grid = spliced(spliced(four, three, 2), four, 3);
    expect(lines(grid, 5)).toEqual([0, 96_000, 192_000, 264_000, 360_000, 456_000]);
  });

  test('that are the same give the same array', () => {
    const list = [steady(2, metre(4, 4), tempo(120)), gradual(2, metre(3, 4), tempo(90), 70)];
    const steadily = gridOf([steady(4, metre(4, 4), tempo(96))], undefined, true);
    expect(spliceBars(steadily, steadily, 7)).toEqual(steadily.stretches);
    const form = gridOf([...list, steady(2, metre(4, 4), tempo(120), holdBeats(1, 1, 1))]);
    expect(spliceBars(form, form, 3)).toEqual(form.stretches);
  });

  test('keep the last 256 bars exact, and the ones before them even', () => {
    const odd = gridOf([steady(1, metre(4, 4), tempo(120)), steady(1, metre(2, 4), tempo(120))], undefined, true);
    const grid = spliced(odd, gridOf([steady(1, metre(3, 4), tempo(120))], undefined, true), 1001);
    for (let bar = 1001 - 256; bar <= 1001; bar++) expect(grid.lineAt(bar)).toBe(odd.lineAt(bar));
    expect(grid.lineAt(744) - grid.lineAt(743)).toBe(grid.lineAt(745) - grid.lineAt(744));
    expect(grid.lineAt(1002) - grid.lineAt(1001)).toBe(72_000);
  });

  test('that bring a standstill with them stand still there', () => {
    const four = gridOf([steady(4, metre(4, 4), tempo(120))], undefined, true);
    const held = gridOf([steady(4, metre(4, 4), tempo(60), untilPressed(3, 0))]);
    const grid = spliced(four, held, 2);
    expect(grid.standstill).toMatchObject({ bar: 3, from: 192_000 + 192_000 + 48_000 });
    expect(lines(ended(grid, 500_000), 5)).toEqual([0, 96_000, 192_000, 384_000, 644_000, 836_000]);
  });
});
