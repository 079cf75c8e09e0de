import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { Correlator } from '../../../src/core/round-trip/correlator.js';
import type { ProbeOrder } from '../../../src/core/round-trip/sequence.js';
import { maximumLengthSequence, probeSignal } from '../../../src/core/round-trip/sequence.js';
import { decibels, QuantityError } from '../../../src/core/units/index.js';

const orders: ProbeOrder[] = [10, 11, 12, 13, 14, 15];

/** Two periods, one after the other, correlated with one: the circular autocorrelation. */
function circular(sequence: Int8Array, other = sequence): Float64Array {
  const twice = new Float32Array(2 * sequence.length);
  twice.set(other);
  twice.set(other, other.length);
  return new Correlator(sequence, sequence.length).correlate(twice);
}

describe('a maximum-length sequence', () => {
  // Periods: published tables of feedback exponents, 2^n − 1.
  test.each([
    [10, 1023],
    [11, 2047],
    [12, 4095],
    [13, 8191],
    [14, 16_383],
    [15, 32_767],
  ] as const)('of order %i has a period of %i: every register content but zero, once', (order, period) => {
    const sequence = maximumLengthSequence(order);
    expect(sequence).toHaveLength(period);
    const contents = new Set<number>();
    for (let at = 0; at < period; at++) {
      let content = 0;
      for (let bit = 0; bit < order; bit++) content = 2 * content + (sequence[(at + bit) % period] === -1 ? 1 : 0);
      contents.add(content);
    }
    expect(contents.size).toBe(period);
    expect(contents.has(0)).toBe(false);
  });

  // Theory of maximum-length sequences; scipy 1.x, max_len_seq: −0.000977517 and −6.1039e-5.
  test.each([
    [10, 0, -0.000977517],
    [14, 0, -6.1039e-5],
    [10, 3, -0.000977517],
    [11, 2, -1 / 2047],
    [12, 3, -1 / 4095],
  ] as const)('of order %i, variant %i, has a circular autocorrelation of 1 and %d', (order, variant, elsewhere) => {
    const sequence = maximumLengthSequence(order, variant);
    const [top, ...rest] = circular(sequence);
    expect(top).toBeCloseTo(1, 12);
    for (const value of [Math.min(...rest), Math.max(...rest)]) {
      expect(Math.abs(value + 1 / sequence.length)).toBeLessThan(1e-12);
      expect(value).toBeCloseTo(elsewhere, 9);
    }
  });

  test.each(orders)('of order %i sums up to ±1, in every variant', (order) => {
    for (const variant of [0, 1, 2, 7]) {
      expect(Math.abs(maximumLengthSequence(order, variant).reduce((sum, value) => sum + value, 0))).toBe(1);
    }
  });

  test.each([10, 11, 12] as const)('of order %i is unlike the others, shifted or mirrored', (order) => {
    const sequences = [0, 1, 2, 3].map((variant) => maximumLengthSequence(order, variant));
    sequences.forEach((one, i) => {
      sequences.slice(i + 1).forEach((other) => {
        for (const against of [other, other.toReversed()]) {
          expect(Math.max(...circular(one, against).map(Math.abs))).toBeLessThan(0.3);
        }
      });
    });
  });

  test('comes in at least 20 variants of each order', () => {
    for (const order of orders) expect(maximumLengthSequence(order, 19)).toHaveLength(2 ** order - 1);
    expect(() => maximumLengthSequence(10, 1000)).toThrow(QuantityError);
  });
});

test('a probe has a crest factor of 1 at its level', () => {
  const probe = probeSignal(maximumLengthSequence(10), decibels(-20));
  const peak = Math.max(...probe.map(Math.abs));
  const rms = Math.sqrt(probe.reduce((sum, x) => sum + x * x, 0) / probe.length);
  expect(peak).toBeCloseTo(0.1, 7);
  expect(peak / rms).toBeCloseTo(1, 6);
});

test('a correlation is the one of the definition, for both of a pair', () => {
  const samples = fc.array(fc.double({ min: -1, max: 1, noNaN: true }), { minLength: 20, maxLength: 40 });
  fc.assert(
    fc.property(samples, samples, (a, b) => {
      const sequence = [1, -1, -1, 1, 1, 1, -1];
      const pair = new Correlator(sequence, 25).correlatePair(Float32Array.from(a), Float32Array.from(b));
      [a, b].forEach((excerpt, which) => {
        for (let lag = 0; lag < 25; lag++) {
          const sum = sequence.reduce((all, value, n) => all + value * (excerpt[lag + n] ?? 0), 0);
          expect(pair[which]?.[lag]).toBeCloseTo(sum / 7, 6);
        }
      });
    }),
  );
});
