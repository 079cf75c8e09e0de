import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { fitClockLine, roundTripAt } from '../../../src/core/round-trip/clock-line.js';
import { frames, nearestFrame, sampleRate, seconds } from '../../../src/core/units/index.js';

const RATE = sampleRate(48_000);

/** Whole frames of a round trip that grows by so many parts in a million. */
const drifting = (ppm: number, times: readonly number[], start = 5000.3) =>
  times.map((at) => ({ at: seconds(at), frames: nearestFrame(start + ppm * 1e-6 * RATE * at) }));

describe('a line through round trips', () => {
  // Arithmetic of two clocks: 20 ppm are 4.8 ms in four minutes, 50 ppm 12 ms.
  test.each([
    [20, 4.8],
    [50, 12],
    [-20, -4.8],
  ])('of %i ppm grows by %d ms in four minutes', (ppm, ms) => {
    const result = fitClockLine(drifting(ppm, [0, 240]), RATE);
    if (!result.ok) throw new Error(result.reason.type);
    const line = result.value;
    expect(line.kind).toBe('two-clocks');
    expect(Math.abs(line.ppm - ppm)).toBeLessThanOrEqual(line.ppmUncertainty + 1e-9);
    const grown = roundTripAt(line, seconds(240), RATE) - roundTripAt(line, seconds(0), RATE);
    expect((grown * 1000) / RATE).toBeCloseTo(ms, 1);
  });

  test('has the true slope within what whole frames leave open, and the truth within a frame', () => {
    const times = fc.array(fc.integer({ min: 0, max: 600 }), { minLength: 1, maxLength: 8 });
    fc.assert(
      fc.property(fc.double({ min: -200, max: 200, noNaN: true }), times, (ppm, between) => {
        const all = [0, ...between, 660];
        const result = fitClockLine(drifting(ppm, all), RATE);
        if (!result.ok) throw new Error(result.reason.type);
        expect(Math.abs(result.value.ppm - ppm)).toBeLessThanOrEqual(result.value.ppmUncertainty + 1e-6);
        if (result.value.kind === 'one-clock') return;
        for (const at of all) {
          const truth = 5000.3 + ppm * 1e-6 * RATE * at;
          expect(Math.abs(roundTripAt(result.value, seconds(at), RATE) - truth)).toBeLessThan(2);
        }
      }),
    );
  });

  test.each([
    [0, 'one-clock'],
    [1.5, 'one-clock'],
    [-1.5, 'one-clock'],
    [2.5, 'two-clocks'],
    [-2.5, 'two-clocks'],
  ])('of %d ppm means %s', (ppm, kind) => {
    const times = [0, 120, 240];
    const result = fitClockLine(drifting(ppm, times), RATE);
    expect(result).toMatchObject({ ok: true, value: { kind } });
    if (!result.ok || result.value.kind === 'two-clocks') return;
    // One figure at all times, and how far it may be off is said.
    expect(roundTripAt(result.value, seconds(0), RATE)).toBe(roundTripAt(result.value, seconds(9999), RATE));
    expect(result.value.within).toBeGreaterThanOrEqual(ppm === 0 ? 0 : 8);
  });

  test('of two measurements a minute apart is known to 0.35 ppm', () => {
    const result = fitClockLine(drifting(0, [0, 60]), RATE);
    // One frame in a minute: 1 / (60 · 48,000).
    expect(result).toMatchObject({ ok: true, value: { ppm: 0, framesAtMiddle: 5000, within: 0 } });
    if (result.ok) expect(result.value.ppmUncertainty).toBeCloseTo(1e6 / (60 * 48_000), 6);
  });
});

test.each([
  ['one', [0], { type: 'too-few', measurements: 1 }],
  ['none', [], { type: 'too-few', measurements: 0 }],
  ['two within a minute', [0, 59], { type: 'too-close', apart: 59 }],
])('%s measurements make no line', (_, times, reason) => {
  expect(fitClockLine(drifting(10, times), RATE)).toEqual({ ok: false, reason });
});

test('a step between three measurements is no line', () => {
  const stepped = [5000, 5000, 5578].map((value, i) => ({ at: seconds(60 * i), frames: frames(value) }));
  expect(fitClockLine(stepped, RATE)).toMatchObject({ ok: false, reason: { type: 'stepped' } });
});
