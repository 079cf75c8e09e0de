import { describe, expect, test } from 'vitest';
import { defaultCountIn } from '../../../src/core/meter/count-in.js';
import { frames } from '../../../src/core/units/index.js';
import { CD, STUDIO } from './given.js';

describe('defaultCountIn', () => {
  // Common practice, no source.
  test.each([
    [88_199, CD, 2],
    [88_200, CD, 1],
    [95_999, STUDIO, 2],
    [96_000, STUDIO, 1],
    [48_000, STUDIO, 2],
    [480_000, STUDIO, 1],
  ])('a bar of %i frames at %i is counted in for %i', (length, rate, count) => {
    expect(defaultCountIn(frames(length), rate)).toBe(count);
  });
});
