import fc from 'fast-check';
import { expect, test } from 'vitest';
import { writtenNotes } from '../../../src/core/chart/note-sign.js';
import type { PulseValue } from '../../../src/core/meter/metre.js';

const written = (num: number, den: PulseValue): string =>
  writtenNotes({ num, den })
    .map(({ base, dots }) => `1/${base}${'.'.repeat(dots)}`)
    .join(' ');

test.each([
  [1, 4, '1/4'],
  [3, 8, '1/4.'],
  [1, 8, '1/8'],
  [1, 1, '1/1'],
  [3, 4, '1/2.'],
  [3, 16, '1/8.'],
  [5, 8, '1/2 1/8'],
  [7, 8, '1/2. 1/8'],
  [3, 1, '1/1 1/1 1/1'],
] as const)('%d/%d is written %s', (num, den, expected) => {
  expect(written(num, den)).toBe(expected);
});

test('what is written adds up to the value', () => {
  fc.assert(
    fc.property(fc.integer({ min: 1, max: 31 }), (num) => {
      const total = writtenNotes({ num, den: 32 }).reduce(
        (sum, { base, dots }) => sum + (dots === 1 ? 1.5 : 1) / base,
        0,
      );
      expect(total).toBe(num / 32);
    }),
  );
});
