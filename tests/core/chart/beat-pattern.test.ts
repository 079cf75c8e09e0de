import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { beatDirections, beatPattern, handAt, patternPath } from '../../../src/core/chart/beat-pattern.js';
import { defaultMetre, feltBeats } from '../../../src/core/meter/metres.js';
import type { Metre, PulseValue } from '../../../src/core/meter/metre.js';

const metre = (num: number, den: PulseValue, groups?: readonly number[]): Metre =>
  groups === undefined ? defaultMetre(num, den).metre : { num, den, groups };

// Common practice, no source: the right hand as the conductor sees it.
describe('directions', () => {
  test.each([
    ['3/4 as a fast waltz, in one', metre(3, 4, [3]), 'down'],
    ['2/4', metre(2, 4), 'down up'],
    ['6/8 in two', metre(6, 8), 'down up'],
    ['5/8 uneven, in two', metre(5, 8, [3, 2]), 'down up'],
    ['3/4', metre(3, 4), 'down out up'],
    ['9/8 in three', metre(9, 8), 'down out up'],
    ['7/8 uneven, in three', metre(7, 8, [2, 2, 3]), 'down out up'],
    ['4/4', metre(4, 4), 'down in out up'],
    ['12/8 in four', metre(12, 8), 'down in out up'],
    ['5/4 as 3+2', metre(5, 4, [3, 2]), 'down in in out up'],
    ['5/4 as 2+3', metre(5, 4, [2, 3]), 'down in out out up'],
    ['6/8 with its eighths counted', metre(6, 8, [1, 1, 1, 1, 1, 1]), 'down in in out out up'],
    ['8/4', metre(8, 4), 'down in in in out out out up'],
  ])('of %s', (_, given, expected) => {
    expect(beatDirections(given).join(' ')).toBe(expected);
  });
});

const anyMetre = fc
  .record({ num: fc.integer({ min: 1, max: 32 }), den: fc.constantFrom<PulseValue>(1, 2, 4, 8, 16, 32) })
  .map(({ num, den }) => defaultMetre(num, den).metre);

describe('the hand, in every metre,', () => {
  test('turns once for each felt beat, inside the unit square', () => {
    fc.assert(
      fc.property(anyMetre, fc.double({ min: 0, max: 1, noNaN: true }), (given, phase) => {
        const pattern = beatPattern(given);
        expect(pattern.turns).toHaveLength(feltBeats(given).length);
        for (const beat of pattern.turns.keys()) {
          const { x, y } = handAt(pattern, beat, phase);
          expect([x >= 0 && x <= 1, y >= 0 && y <= 1]).toEqual([true, true]);
        }
      }),
    );
  });

  test('is at the low turn on the beat, and comes down to it and leaves it upwards', () => {
    fc.assert(
      fc.property(anyMetre, (given) => {
        const pattern = beatPattern(given);
        const last = pattern.turns.length - 1;
        for (const [beat, turn] of pattern.turns.entries()) {
          expect(handAt(pattern, beat, 0)).toEqual(turn);
          expect(handAt(pattern, beat, 0.02).y).toBeLessThan(turn.y);
          expect(handAt(pattern, beat === 0 ? last : beat - 1, 0.98).y).toBeLessThan(turn.y);
        }
      }),
    );
  });

  test('moves without a jump from beat to beat', () => {
    fc.assert(
      fc.property(anyMetre, (given) => {
        const pattern = beatPattern(given);
        for (const beat of pattern.turns.keys()) {
          const end = handAt(pattern, beat, 1);
          const start = handAt(pattern, (beat + 1) % pattern.turns.length, 0);
          expect(end.x).toBeCloseTo(start.x, 9);
          expect(end.y).toBeCloseTo(start.y, 9);
        }
      }),
    );
  });

  test('goes lowest on the downbeat and highest before it', () => {
    const pattern = beatPattern(metre(4, 4));
    const phases = Array.from({ length: 4 }, (_, beat) =>
      [0, 0.25, 0.5, 0.75].map((phase) => handAt(pattern, beat, phase)),
    );
    const heights = phases.flat().map(({ y }) => y);

    expect(Math.max(...heights)).toBe(handAt(pattern, 0, 0).y);
    expect(Math.min(...heights)).toBe(handAt(pattern, 3, 0.5).y);
  });
});

test('in is to the left of the downbeat and out to its right', () => {
  const [down, inward, outward] = beatPattern(metre(4, 4)).turns;
  expect(inward!.x).toBeLessThan(down!.x);
  expect(outward!.x).toBeGreaterThan(down!.x);
});

test('the path is one closed line through all beats', () => {
  const path = patternPath(beatPattern(metre(4, 4)), 100, 100);
  expect(path).toMatch(/^M50 86(C[-\d. ]+){5}$/);
  expect(path.endsWith('50 86')).toBe(true);
});
