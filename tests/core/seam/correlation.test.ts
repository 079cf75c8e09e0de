import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { correlationAtLines, seamCorrelation } from '../../../src/core/seam/correlation.js';
import { frames, sampleRate } from '../../../src/core/units/index.js';
import { seededNoise, signal } from '../../support/tones.js';

const sine = (degrees: number): Float32Array =>
  signal(2400, (i) => Math.sin((2 * Math.PI * i) / 240 + (degrees * Math.PI) / 180));

describe('correlation', () => {
  test.each([
    [0, 1],
    [60, 0.5],
    [90, 0],
    [120, -0.5],
    [180, -1],
  ])('of sines %i° apart is %f, the cosine', (degrees, expected) => {
    expect(seamCorrelation(sine(0), sine(degrees))).toBeCloseTo(expected, 5);
  });

  test('does not depend on levels, changes sign with polarity, and is the same both ways', () => {
    const noise = seededNoise(4);
    const a = signal(500, noise);
    const b = signal(500, (i) => (a[i] ?? 0) + noise());
    const r = seamCorrelation(a, b);
    expect(r).toBeGreaterThan(0.5);
    expect(seamCorrelation(b, a)).toBe(r);
    expect(
      seamCorrelation(
        a,
        b.map((x) => x / -8),
      ),
    ).toBe(-r);
  });

  test('is 0 for silence, for nothing, and for what is not finite', () => {
    const some = Float32Array.of(1, 2);
    expect(seamCorrelation(some, new Float32Array(2))).toBe(0);
    expect(seamCorrelation(new Float32Array(0), new Float32Array(0))).toBe(0);
    expect(seamCorrelation(some, Float32Array.of(NaN, 1))).toBe(0);
    expect(seamCorrelation(some, Float32Array.of(Infinity, 1))).toBe(0);
  });

  test('never leaves −1 … 1', () => {
    const samples = fc.float32Array({ minLength: 8, maxLength: 8, noNaN: true, noDefaultInfinity: true });
    fc.assert(
      fc.property(samples, samples, (a, b) => {
        expect(Math.abs(seamCorrelation(a, b))).toBeLessThanOrEqual(1);
      }),
    );
  });

  test('of pieces that differ in length is refused', () => {
    expect(() => seamCorrelation(new Float32Array(3), new Float32Array(4))).toThrow(
      'Got 4 frames when expected 3, as many.',
    );
  });
});

describe('correlation at the lines of a body', () => {
  const rate = sampleRate(48_000);
  const body = (lead: number, tail: number) => ({
    bodyStart: frames(5000),
    bodyFrames: frames(24_000),
    lead: frames(lead),
    tail: frames(tail),
  });
  /** The 50 ms before the lines are alike, those after them opposed, and what lies farther away is neither. */
  const noise = seededNoise(12);
  const before = signal(2400, noise);
  const after = signal(2400, noise);
  const samples = signal(40_000, (i) => {
    const fromLine = i < 17_000 ? i - 5000 : i - 29_000;
    if (fromLine < -2400 || fromLine >= 2400) return noise();
    if (fromLine < 0) return before[fromLine + 2400] ?? 0;
    return (i < 17_000 ? 1 : -1) * (after[fromLine] ?? 0);
  });

  test('looks at the 50 ms before them, where the crossfade lies', () => {
    expect(correlationAtLines(samples, body(5000, 5000), rate)).toBeCloseTo(1, 6);
  });

  test('looks beyond them where the lead is shorter than that', () => {
    expect(correlationAtLines(samples, body(0, 5000), rate)).toBeCloseTo(-1, 6);
    expect(Math.abs(correlationAtLines(samples, body(1200, 5000), rate))).toBeLessThan(0.2);
  });

  test('is 0 where neither lead nor tail exists', () => {
    expect(correlationAtLines(samples, body(0, 0), rate)).toBe(0);
  });
});
