import fc from 'fast-check';
import { expect, test } from 'vitest';
import { GainRide } from '../../../src/core/limiter/gain-ride.js';
import { WindowMaximum } from '../../../src/core/limiter/window-maximum.js';

const reductions = fc.array(
  fc.oneof({ weight: 4, arbitrary: fc.constant(0) }, fc.double({ min: 0, max: 1, noNaN: true })),
  { minLength: 1, maxLength: 300 },
);

test('a window maximum is the largest of the last values, for any values and any length', () => {
  fc.assert(
    fc.property(reductions, fc.integer({ min: 1, max: 40 }), (values, length) => {
      const maximum = new WindowMaximum(length);
      values.forEach((value, i) => {
        expect(maximum.push(value)).toBe(Math.max(...values.slice(Math.max(0, i - length + 1), i + 1)));
      });
    }),
  );
});

test('the gain has arrived when it is needed, stays while it is held, and never leaves 0 … 1', () => {
  fc.assert(
    fc.property(reductions, fc.integer({ min: 2, max: 40 }), fc.integer({ min: 1, max: 8 }), (asked, smooth, more) => {
      const hold = smooth + more;
      const ride = new GainRide(hold, smooth, 200);
      const gains = [...asked, ...Array.from({ length: hold }, () => 0)].map((reduction) => ride.push(reduction));
      asked.forEach((reduction, i) => {
        for (let late = smooth - 1; late < hold; late++) {
          expect(gains[i + late]).toBeLessThanOrEqual(1 - reduction);
        }
      });
      for (const gain of gains) {
        expect(gain).toBeGreaterThanOrEqual(0);
        expect(gain).toBeLessThanOrEqual(1);
      }
    }),
  );
});

test('the gain bends: from one frame to the next it moves by at most its way divided by the first box', () => {
  const ride = new GainRide(80, 71, 4800);
  let before = 1;
  let fastest = 0;
  for (let i = 0; i < 30_000; i++) {
    const gain = ride.push(i % 9000 === 100 ? 0.9 : 0);
    fastest = Math.max(fastest, Math.abs(gain - before));
    before = gain;
  }
  expect(fastest).toBeGreaterThan(0);
  expect(fastest).toBeLessThanOrEqual(0.9 / 36 + 1e-9);
});

test('the release falls to 1/e in the time that was set', () => {
  const ride = new GainRide(3, 2, 1000);
  ride.push(0.5);
  ride.push(0);
  const held = 1 - ride.push(0);
  for (let i = 0; i < 999; i++) ride.push(0);
  expect((1 - ride.push(0)) / held).toBeCloseTo(Math.exp(-1), 3);
});

test('after two million frames of reductions the gain returns to exactly 1', () => {
  const ride = new GainRide(72, 71, 4800);
  for (let i = 0; i < 2_000_000; i++) ride.push((i % 1013) / 1013);
  for (let i = 0; i < 100_000; i++) ride.push(0);
  expect(ride.push(0)).toBe(1);
});

test('a reduction of 1 is silence, without a sign', () => {
  const ride = new GainRide(72, 71, 4800);
  let gain = 1;
  for (let i = 0; i < 72; i++) gain = ride.push(1);
  expect(gain).toBe(0);
});
