import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { blurred, likenesses, matchSamples, peaksOf } from '../../../src/core/loop/match.js';
import { noiseAt } from '../../support/signals.js';
import { seededNoise } from '../../support/tones.js';

/** Without what lies above hearing at high rates. */
function dark(samples: Float32Array): Float32Array {
  let low = 0;
  return samples.map((value) => (low += 0.4 * (value - low)));
}

const noise = (length: number, seed: number): Float32Array => {
  const random = seededNoise(seed);
  return Float32Array.from({ length }, random);
};

describe('likenesses', () => {
  test('are Pearson’s correlation at every shift that the sound covers', () => {
    // Worked by hand: deviations (−1, 0, 1) against (−1, 1, 0), (1, 0, −1) and (0, −1, 1).
    expect([...likenesses([1, 2, 3], [0, 2, 1, 0, 2])].map((value) => Math.round(value * 1e9) / 1e9)).toEqual([
      0.5, -1, 0.5,
    ]);
  });

  test('do not know level or offset', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 1000 }),
        fc.double({ min: 0.01, max: 100, noNaN: true }),
        fc.double({ min: -10, max: 10, noNaN: true }),
        (seed, level, offset) => {
          const pattern = noise(40, seed);
          const sound = noise(90, seed + 5000);
          const plain = likenesses(pattern, sound);
          const changed = likenesses(
            pattern,
            Float64Array.from(sound, (value) => level * value + offset),
          );
          plain.forEach((value, i) => {
            expect(changed[i]).toBeCloseTo(value, 6);
            expect(Math.abs(value)).toBeLessThanOrEqual(1 + 1e-9);
          });
        },
      ),
    );
  });

  test.each([
    ['silence', new Float32Array(10), noise(30, 1)],
    ['a constant', new Float32Array(10).fill(0.3), noise(30, 1)],
  ])('of %s are 0', (_, pattern, sound) => {
    expect(likenesses(pattern, sound).every((value) => value === 0)).toBe(true);
    expect(likenesses(sound.subarray(0, 10), new Float32Array(30).fill(pattern[0] ?? 0)).every((v) => v === 0)).toBe(
      true,
    );
  });

  test('are none for a pattern longer than the sound', () => {
    expect(likenesses([1, 2, 3], [1, 2])).toHaveLength(0);
  });
});

describe('matchSamples', () => {
  test('finds where a sound comes again, to the sample, at any rate, under noise', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(8000, 44_100, 48_000, 96_000),
        fc.integer({ min: 0, max: 900 }),
        fc.integer({ min: 1, max: 1000 }),
        (rate, shift, seed) => {
          const pattern = dark(noise(3000, seed));
          const sound = dark(noise(5000, seed + 1)).map((value) => 0.3 * value);
          pattern.forEach((value, i) => (sound[shift + i] = (sound[shift + i] ?? 0) + 0.5 * value));
          const match = matchSamples(pattern, sound, rate, 0, 1000);
          expect(match.shift).toBe(shift);
          expect(match.likeness).toBeGreaterThan(0.7);
        },
      ),
    );
  });

  test('looks only where it is told to', () => {
    const sound = Float32Array.from({ length: 4000 }, (_, i) => noiseAt(i));
    const pattern = sound.slice(500, 1500);
    const match = matchSamples(pattern, sound, 48_000, 0, 2000);
    expect(match.shift).toBe(500);
    expect(match.likeness).toBeCloseTo(1, 6);
    const elsewhere = matchSamples(pattern, sound, 48_000, 600, 2000);
    expect(elsewhere.shift).toBeGreaterThanOrEqual(600);
    expect(elsewhere.likeness).toBeLessThan(0.2);
  });

  test.each([
    ['nothing', 0, 100, 0, 50],
    ['a pattern longer than what is there', 200, 100, 0, 50],
    ['a range that is not there', 10, 100, 95, 99],
  ])('of %s is no likeness at all', (_, pattern, sound, from, to) => {
    expect(matchSamples(noise(pattern, 1), noise(sound, 2), 48_000, from, to).likeness).toBe(0);
  });
});

describe('peaksOf', () => {
  test('gives the tops, highest first, each where a parabola through its neighbours has its own', () => {
    const parabola = Float64Array.from({ length: 9 }, (_, i) => 1 - (i - 3.25) ** 2 / 20);
    const [top, ...others] = peaksOf(parabola);
    expect(top?.shift).toBeCloseTo(3.25, 9);
    expect(top?.likeness).toBe(parabola[3]);
    expect(others).toEqual([]);
    expect(peaksOf(Float64Array.of(0, 0.2, 0, 0.9, 0.1)).map(({ shift }) => Math.round(shift))).toEqual([3, 1]);
  });

  test('of nothing, or of what is never alike, are none', () => {
    expect(peaksOf(new Float64Array(0))).toEqual([]);
    expect(peaksOf(Float64Array.of(-1, -0.5, -1))).toEqual([]);
  });
});

describe('blurred', () => {
  test('spreads a value over a triangle that sums to it', () => {
    const spread = [...blurred(Float64Array.of(0, 0, 0, 9, 0, 0, 0), 2)];
    expect(spread.map((value) => Math.round(value * 1e9) / 1e9)).toEqual([0, 1, 2, 3, 2, 1, 0]);
  });

  test('of reach 0 is the curve itself', () => {
    expect([...blurred(Float64Array.of(1, 5, 2), 0)]).toEqual([1, 5, 2]);
  });
});
