import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import * as units from '../../../src/core/units/index.js';
import { frames, nearestFrame, QuantityError } from '../../../src/core/units/index.js';

const finite = fc.double({ min: -1e12, max: 1e12, noNaN: true });

describe('the makers of quantities', () => {
  test.each(['frames', 'bars'] as const)('%s() passes whole numbers, negative ones too', (maker) => {
    for (const value of [0, 1, -1, 48_000, Number.MAX_SAFE_INTEGER, Number.MIN_SAFE_INTEGER]) {
      expect(units[maker](value)).toBe(value);
    }
  });

  test.each(['frames', 'bars'] as const)('%s() refuses what is not a whole number', (maker) => {
    for (const value of [1.5, Number.NaN, Infinity, -Infinity, Number.MAX_SAFE_INTEGER + 1]) {
      expect(() => units[maker](value)).toThrow(QuantityError);
    }
  });

  test('the message says what came and what was expected', () => {
    expect(() => frames(1.5)).toThrow('Got 1.5 frames when expected a whole number.');
    expect(() => units.bpm(0)).toThrow('Got 0 beats a minute when expected a finite number above zero.');
  });

  test.each(['seconds', 'milliseconds', 'gain'] as const)('%s() passes every finite number and no other', (maker) => {
    for (const value of [0, -0.5, 1e-9, 1e12]) expect(units[maker](value)).toBe(value);
    for (const value of [Number.NaN, Infinity, -Infinity]) expect(() => units[maker](value)).toThrow(QuantityError);
  });

  test.each(['bpm', 'sampleRate'] as const)('%s() passes finite numbers above zero and no other', (maker) => {
    for (const value of [1e-3, 60, 44_100, 93.5]) expect(units[maker](value)).toBe(value);
    for (const value of [0, -1, Number.NaN, Infinity]) expect(() => units[maker](value)).toThrow(QuantityError);
  });

  test('decibels() passes silence, and refuses +∞ and NaN', () => {
    for (const value of [-Infinity, -60, 0, 12]) expect(units.decibels(value)).toBe(value);
    for (const value of [Infinity, Number.NaN]) expect(() => units.decibels(value)).toThrow(QuantityError);
  });
});

describe('nearestFrame', () => {
  test.each([
    [0, 0],
    [0.49, 0],
    [0.5, 1],
    [1.5, 2],
    [2.5, 3],
    [-0.49, 0],
    [-0.51, -1],
    [-1.5, -1],
    [27_562.5, 27_563],
  ])('takes %f to %i: halves go up, also below zero', (value, frame) => {
    expect(nearestFrame(value)).toBe(frame);
  });

  test('is never more than half a frame away', () => {
    fc.assert(
      fc.property(finite, (value) => {
        expect(Math.abs(nearestFrame(value) - value)).toBeLessThanOrEqual(0.5);
      }),
    );
  });

  test('commutes with shifts by whole frames', () => {
    // Sixteenths, so that the shifted value is exact and the law is about rounding alone.
    const sixteenths = fc.integer({ min: -1e9, max: 1e9 }).map((n) => n / 16);
    fc.assert(
      fc.property(sixteenths, fc.integer({ min: -1e9, max: 1e9 }), (value, shift) => {
        expect(nearestFrame(value + shift)).toBe(nearestFrame(value) + shift);
      }),
    );
  });

  test('refuses what has no nearest frame', () => {
    for (const value of [Number.NaN, Infinity, 1e300]) expect(() => nearestFrame(value)).toThrow(QuantityError);
  });
});
