import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { tempoPrior } from '../../../src/core/meter/tempo-prior.js';
import { bpm } from '../../../src/core/units/index.js';
import { anyBpm } from './given.js';

describe('tempoPrior', () => {
  // A preferred pulse of 500–550 ms: van Noorden and Moelants, J. New Music Res. 28, 1999.
  test('prefers 120 to 60 and to 240', () => {
    expect(tempoPrior(bpm(120))).toBeGreaterThan(tempoPrior(bpm(60)));
    expect(tempoPrior(bpm(120))).toBeGreaterThan(tempoPrior(bpm(240)));
  });

  test('is 1 at 120, and at an octave the e^(−1/2) of a standard deviation', () => {
    expect(tempoPrior(bpm(120))).toBe(1);
    expect(tempoPrior(bpm(60))).toBeCloseTo(Math.exp(-0.5), 12);
    expect(tempoPrior(bpm(240))).toBeCloseTo(Math.exp(-0.5), 12);
  });

  test('is the same for tempi equally far in octaves, and falls with that distance', () => {
    fc.assert(
      fc.property(anyBpm, (value) => {
        expect(tempoPrior(value)).toBeCloseTo(tempoPrior(bpm(120 ** 2 / value)), 12);
        const farther = bpm(value < 120 ? value / 1.1 : value * 1.1);
        expect(tempoPrior(farther)).toBeLessThan(tempoPrior(value));
        expect(tempoPrior(farther)).toBeGreaterThan(0);
      }),
    );
  });
});
