import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { leastSquares, normalWithin, studentReach } from '../../../src/core/meter/tap-statistics.js';

describe('leastSquares', () => {
  test('finds the line through points on it, whatever their order and spacing', () => {
    fc.assert(
      fc.property(
        fc.uniqueArray(fc.integer({ min: -50, max: 50 }), { minLength: 2, maxLength: 20 }),
        fc.integer({ min: -1000, max: 1000 }),
        fc.integer({ min: -1000, max: 1000 }),
        (xs, slope, shift) => {
          const line = leastSquares(
            xs,
            xs.map((x) => slope * x + shift),
          );
          expect(line.slope).toBeCloseTo(slope, 6);
          expect(line.squares).toBeCloseTo(0, 6);
        },
      ),
    );
  });

  test('finds slope and residuals of a worked example', () => {
    // By hand: x̄ = 1.5, ȳ = 2.5, Σdx² = 5, Σdxdy = 4, slope 0.8; residuals −0.3, 0.9, −0.9, 0.3, squares 1.8.
    const line = leastSquares([0, 1, 2, 3], [1, 3, 2, 4]);
    expect(line.slope).toBeCloseTo(0.8, 12);
    expect(line.leverage).toBe(5);
    expect(line.squares).toBeCloseTo(1.8, 12);
  });

  test('has the leverage n(n² − 1)/12 for n taps in a row', () => {
    for (const n of [2, 4, 6, 8, 12, 16]) {
      expect(leastSquares([...Array(n).keys()], [...Array(n).keys()]).leverage).toBeCloseTo((n * (n * n - 1)) / 12, 9);
    }
  });
});

describe('how many taps', () => {
  // Taps for ±1 a minute with 95 % by regression; computed outside this project.
  test.each([
    [10, 80, 4],
    [10, 120, 7],
    [10, 160, 10],
    [20, 80, 6],
    [20, 120, 11],
    [20, 160, 15],
    [30, 80, 8],
    [30, 120, 14],
    [30, 160, 20],
  ])('with taps %i ms off, ±1 at %i takes %i', (scatter, value, taps) => {
    const reach = (n: number) => {
      const beats = [...Array(n).keys()];
      const beat = 60_000 / value;
      return (1.96 * value * scatter) / beat / Math.sqrt(leastSquares(beats, beats).leverage);
    };
    expect(reach(taps)).toBeLessThanOrEqual(1);
    expect(reach(taps - 1)).toBeGreaterThan(1);
  });
});

describe('studentReach', () => {
  // Student's t at 97.5 %: printed tables, from memory.
  test.each([
    [4, 2.776],
    [5, 2.571],
    [6, 2.447],
    [8, 2.306],
    [10, 2.228],
    [20, 2.086],
    [30, 2.042],
    [120, 1.98],
  ])('is with %i degrees of freedom %f', (freedom, reach) => {
    expect(Math.abs(studentReach(freedom) / reach - 1)).toBeLessThan(0.003);
  });
});

describe('normalWithin', () => {
  // Normal distribution: printed tables, from memory.
  test.each([
    [0, 0],
    [0.67449, 0.5],
    [1, 0.682689],
    [1.959964, 0.95],
    [3, 0.9973],
    [10, 1],
  ])('%f standard deviations hold %f', (reach, share) => {
    expect(normalWithin(reach)).toBeCloseTo(share, 5);
  });
});
