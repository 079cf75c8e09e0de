import { expect, test } from 'vitest';
import { silenceDamage } from '../../../src/core/render/damage.js';

test('what is no finite number becomes silence where it stands, and is counted', () => {
  const input = [Float32Array.of(0.5, NaN, Infinity, -0.25), Float32Array.of(-Infinity, 0, 1, 2)];
  expect(silenceDamage(input, 4)).toBe(3);
  expect(input.map((channel) => [...channel])).toEqual([
    [0.5, 0, 0, -0.25],
    [0, 0, 1, 2],
  ]);
});

test('beyond the block nothing is touched', () => {
  const input = [Float32Array.of(0, NaN)];
  expect(silenceDamage(input, 1)).toBe(0);
  expect(input[0]?.[1]).toBeNaN();
});

test('no input has no damage', () => {
  expect(silenceDamage([], 128)).toBe(0);
});
