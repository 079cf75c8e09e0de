import fc from 'fast-check';
import { expect, test } from 'vitest';
import { solveToeplitz, toeplitzProduct } from '../../../src/core/round-trip/toeplitz.js';

const values = (length: number) =>
  fc.array(fc.double({ min: -1, max: 1, noNaN: true }), { minLength: length, maxLength: length });

/** The autocorrelation of any signal makes a matrix without negative eigenvalues; a little more at lag 0 makes it sound. */
const autocorrelations = values(24).map((signal) =>
  signal.map((_, lag) => signal.reduce((sum, x, i) => sum + x * (signal[i - lag] ?? 0), lag === 0 ? 0.1 : 0)),
);

test('the solution of a Toeplitz system solves it', () => {
  fc.assert(
    fc.property(autocorrelations, fc.integer({ min: 1, max: 20 }), values(20), (r, count, right) => {
      const b = right.slice(0, count);
      const x = solveToeplitz(r, b);
      b.forEach((value, i) => {
        expect(x.reduce((sum, each, j) => sum + each * (r[Math.abs(i - j)] ?? 0), 0)).toBeCloseTo(value, 6);
      });
    }),
  );
});

test.each([
  ['nothing', [0, 0, 0], [1, 2, 3], [0, 0, 0]],
  ['no unknowns', [1], [], []],
  // 2x + y = 4 and x + 2y = 5.
  ['two', [2, 1], [4, 5], [1, 2]],
])('of %s it is plain', (_, r, b, x) => {
  expect([...solveToeplitz(r, b)].map((value) => Number(value.toFixed(12)))).toEqual(x);
});

test('the product of two filters is the energy of what they make of a signal', () => {
  fc.assert(
    fc.property(values(12), values(4), values(4), (signal, a, b) => {
      const at = (filter: number[], i: number) => filter.reduce((sum, x, k) => sum + x * (signal[i - k] ?? 0), 0);
      const energy = Array.from({ length: 16 }, (_, i) => at(a, i) * at(b, i)).reduce((sum, x) => sum + x, 0);
      const r = signal.map((_, lag) => signal.reduce((sum, x, i) => sum + x * (signal[i - lag] ?? 0), 0));
      expect(toeplitzProduct(Float64Array.from(a), r, Float64Array.from(b))).toBeCloseTo(energy, 9);
    }),
  );
});
