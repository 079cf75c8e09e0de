import { expect, test } from 'vitest';
import { levelAround } from '../../../src/core/listen/level.js';

const samples = Float32Array.of(1, -1, 3, -3, 0, 0);

test.each([
  [2, 2, 0, 1],
  [2, 0, 2, 3],
  [2, 2, 2, Math.sqrt(5)],
  [0, 10, 2, 1],
  [5, 1, 100, 0],
  [0, 5, 0, 0],
  [9, 2, 2, 0],
])('at frame %i, from %i before to %i after, the level is %f', (frame, before, after, expected) => {
  expect(levelAround(samples, frame, before, after)).toBeCloseTo(expected, 12);
});
