import { describe, expect, test } from 'vitest';
import { DETECTOR_CHUNK, PeakDetector } from '../../../src/core/limiter/peak-detector.js';
import { seededNoise, signal } from '../../support/tones.js';
import { annex2Peak, decibelsOf, longPeak } from '../../support/true-peak.js';

function detected(samples: Float32Array, ceiling: number): Float64Array {
  const detector = new PeakDetector(ceiling);
  const peaks = new Float64Array(samples.length);
  for (let at = 0; at < samples.length; at += DETECTOR_CHUNK) {
    const count = Math.min(DETECTOR_CHUNK, samples.length - at);
    detector.raisePeaks(samples.subarray(at), peaks.subarray(at), count);
  }
  return peaks;
}

describe('a steady sine reads as its amplitude, whatever the phase', () => {
  test.each([0.001, 0.01, 0.1, 0.2, 0.25, 0.3, 0.4, 0.42, 0.45, 0.47])('at %f cycles a frame', (cycles) => {
    for (let degrees = 0; degrees < 180; degrees += 11.25) {
      const sine = signal(2000, (i) => Math.sin(2 * Math.PI * cycles * i + (degrees * Math.PI) / 180));
      const reading = decibelsOf(Math.max(...detected(sine, 0.9).subarray(200)));
      expect(reading).toBeGreaterThan(-0.02);
      expect(reading).toBeLessThan(0.13);
    }
  });
});

test('the worst white noise reads at most 0.05 dB under a meter of 64 taps', () => {
  let worst = -Infinity;
  for (let seed = 0; seed < 60; seed++) {
    const noise = seededNoise(seed);
    const samples = signal(700, (i) => (i < 600 ? noise() : 0));
    worst = Math.max(worst, longPeak(samples) - decibelsOf(Math.max(...detected(samples, 0.5))));
  }
  expect(worst).toBeLessThan(0.05);
});

test('what it leaves out for being quiet is never above the ceiling', () => {
  const noise = seededNoise(11);
  // Long quiet, then something loud: the points round the change must come out as if nothing had been left out.
  const samples = signal(3000, (i) => (i % 500 < 400 ? 0.01 : 1) * noise());
  const lazy = detected(samples, 0.9);
  const thorough = detected(samples, 1e-6);
  thorough.forEach((peak, i) => {
    if (peak > 0.9) expect(lazy[i]).toBe(peak);
    else expect(lazy[i]).toBeLessThanOrEqual(0.9);
  });
  expect(thorough.some((peak) => peak > 0.9)).toBe(true);
});

// The meters must be right before they judge. EBU Tech 3341 (2023) table 1, case 16: −6.0 dBTP, +0.2/−0.4 dB, with samples
// at −9; and the reading of the printed taps on this signal, worked out beforehand: −5.98.
test('the meters of these tests read a known signal right', () => {
  const fade = 2400;
  const tone = signal(24_000, (i) => {
    const shape = 0.5 - 0.5 * Math.cos(Math.PI * Math.min(1, i / fade, (23_999 - i) / fade));
    return shape * 0.5 * Math.sin((Math.PI / 2) * i + Math.PI / 4);
  });
  expect(decibelsOf(Math.max(...tone))).toBeCloseTo(-9.03, 2);
  expect(annex2Peak(tone)).toBeCloseTo(-5.98, 2);
  expect(longPeak(tone)).toBeCloseTo(-6.02, 2);
});
