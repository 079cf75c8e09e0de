import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { crossfadeFrames, crossfadeTables, matchedGain, writeCrossfade } from '../../../src/core/seam/crossfade.js';
import { frames, QuantityError, sampleRate } from '../../../src/core/units/index.js';
import { seededNoise } from '../../support/tones.js';

// Fink, Holters, Zölzer, "Signal-matched power-complementary cross-fading and dry-wet mixing", DAFx-16 (2016), and the
// music-dsp list of 2010 (Niemitalo, Bristow-Johnson) for the equal-power shapes.
describe('matched gains', () => {
  const correlation = fc.double({ min: 0, max: 1, noNaN: true });
  const place = fc.double({ min: 0, max: 1, noNaN: true });

  test('keep the power of equal signals to 1e-12, for any correlation and any place', () => {
    fc.assert(
      fc.property(place, correlation, (x, r) => {
        const w = matchedGain(x, r);
        const v = matchedGain(1 - x, r);
        expect(Math.abs(w * w + v * v + 2 * r * w * v - 1)).toBeLessThan(1e-12);
      }),
    );
  });

  test('are the straight line for signals that are alike, so that a constant stays itself', () => {
    fc.assert(
      fc.property(place, (x) => {
        expect(matchedGain(x, 1)).toBeCloseTo(x, 12);
      }),
    );
  });

  test('are x / √(x² + (1−x)²) for unrelated signals', () => {
    fc.assert(
      fc.property(place, (x) => {
        expect(matchedGain(x, 0)).toBeCloseTo(x / Math.hypot(x, 1 - x), 12);
      }),
    );
  });

  test.each([
    [1, 0.5],
    [0.75, 0.534522],
    [0.5, 0.57735],
    [0.25, 0.632456],
    [0, 0.707107],
  ])('at correlation %f are both %f in the middle', (r, gain) => {
    expect(matchedGain(0.5, r)).toBeCloseTo(gain, 6);
  });

  test.each([
    [1, 0.25, 0.75],
    [0.5, 0.27735, 0.83205],
    [0, 0.316228, 0.948683],
  ])('at correlation %f and a quarter of the way are %f coming in, %f going out', (r, incoming, outgoing) => {
    expect(matchedGain(0.25, r)).toBeCloseTo(incoming, 6);
    expect(matchedGain(0.75, r)).toBeCloseTo(outgoing, 6);
  });

  test('would grow without bound towards −1: at −0.5 both are 1 in the middle', () => {
    expect(matchedGain(0.5, -0.5)).toBeCloseTo(1, 12);
  });
});

describe('tables', () => {
  const length = fc.integer({ min: 0, max: 3000 });
  const anyCorrelation = fc.double({ min: -3, max: 3, noNaN: true });

  test('fade out is fade in reversed, exactly, and rises inside of 0 … 1', () => {
    fc.assert(
      fc.property(length, anyCorrelation, (count, r) => {
        const { fadeIn, fadeOut } = crossfadeTables(frames(count), r);
        expect(fadeOut).toEqual(fadeIn.toReversed());
        expect(fadeIn.length).toBe(count);
        expect(fadeIn.every((gain, i) => gain > 0 && gain >= (fadeIn[i - 1] ?? 0) && gain <= 1)).toBe(true);
      }),
      { numRuns: 60 },
    );
  });

  test('keep the power of equal signals to 2e-7 in 32 bits', () => {
    for (const r of [0, 0.25, 0.5, 0.75, 1]) {
      const { fadeIn, fadeOut } = crossfadeTables(frames(480), r);
      fadeIn.forEach((w, i) => {
        const v = fadeOut[i] ?? NaN;
        expect(Math.abs(w * w + v * v + 2 * r * w * v - 1)).toBeLessThan(2e-7);
      });
    }
  });

  test('take their gains in the middle of each frame', () => {
    expect([...crossfadeTables(frames(2), 1).fadeIn]).toEqual([0.25, 0.75]);
    expect([...crossfadeTables(frames(1), 1).fadeIn]).toEqual([0.5]);
  });

  test('clamp the correlation to 0 … 1', () => {
    expect(crossfadeTables(frames(64), -0.7)).toEqual(crossfadeTables(frames(64), 0));
    expect(crossfadeTables(frames(64), 1.2)).toEqual(crossfadeTables(frames(64), 1));
  });

  test('written into memory of the caller are the same, and touch nothing round it', () => {
    const canvas = new Float32Array(66).fill(9);
    const fadeOut = new Float32Array(64);
    writeCrossfade(canvas.subarray(1, 65), fadeOut, 0.3);
    expect({ fadeIn: canvas.slice(1, 65), fadeOut }).toEqual(crossfadeTables(frames(64), 0.3));
    expect([canvas[0], canvas[65]]).toEqual([9, 9]);
  });

  test('refuse what cannot be meant, saying what was expected', () => {
    expect(() => crossfadeTables(frames(4), NaN)).toThrow(QuantityError);
    expect(() => {
      writeCrossfade(new Float32Array(4), new Float32Array(5), 0);
    }).toThrow('Got 5 gains to fade out when expected 4, as many as to fade in.');
  });
});

test.each([
  [44_100, 0, 441],
  [48_000, 1, 480],
  [96_000, 0.5, 960],
  [48_000, -0.01, 96],
  [44_100, -1, 88],
])('at %i frames a second and correlation %f the crossfade lasts %i frames', (rate, r, expected) => {
  expect(crossfadeFrames(sampleRate(rate), r)).toBe(expected);
});

describe('the level through a crossfade', () => {
  /** Mean powers over many pairs of signals of correlation r, the second `gap` dB under the first, at each frame. */
  function powers(pairs: (pair: number) => readonly [number, number][], count: number, r: number): number[] {
    const { fadeIn, fadeOut } = crossfadeTables(frames(480), r);
    const sums = new Array<number>(480).fill(0);
    for (let pair = 0; pair < count; pair++) {
      pairs(pair).forEach(([out, incoming], i) => {
        sums[i] = (sums[i] ?? 0) + (out * (fadeOut[i] ?? 0) + incoming * (fadeIn[i] ?? 0)) ** 2;
      });
    }
    return sums.map((sum) => sum / count);
  }

  const decibels = (power: number): number => 10 * Math.log10(power);
  const gaps = [0, 2, -2, 4.8, -4.8];
  const cases = [0, 0.25, 0.5, 0.75, 1].flatMap((r) => gaps.map((gap) => [r, gap] as const));

  test.each(cases)('of sines of correlation %f, %f dB apart, stays within ±1 dB of the straight line', (r, gap) => {
    const second = 10 ** (gap / 20);
    // Sines a quarter turn apart are unrelated; the mean over starts evenly spread is the exact mean power.
    const angle = Math.acos(r);
    const sines = (start: number) =>
      Array.from({ length: 480 }, (_, i) => {
        const turn = 0.0144 * i + (2 * Math.PI * start) / 16;
        return [Math.SQRT2 * Math.sin(turn), Math.SQRT2 * second * Math.sin(turn + angle)] as [number, number];
      });
    powers(sines, 16, r).forEach((power, i) => {
      const x = (i + 0.5) / 480;
      const line = 1 - x + x * second * second;
      expect(Math.abs(decibels(power / line))).toBeLessThan(1);
      if (gap === 0) expect(Math.abs(power - 1)).toBeLessThan(1e-6);
    });
  });

  test.each([0, 0.5, 1])('of noises of correlation %f stays within ±1 dB of what it was', (r) => {
    const random = seededNoise(99);
    const noises = () =>
      Array.from({ length: 480 }, () => {
        const shared = random() * Math.sqrt(3);
        const own = random() * Math.sqrt(3);
        return [shared, r * shared + Math.sqrt(1 - r * r) * own] as [number, number];
      });
    // 1,500 pairs: the mean power of one frame strays by 0.14 dB (standard deviation), of 480 frames by 0.45 at most.
    for (const power of powers(noises, 1500, r)) expect(Math.abs(decibels(power))).toBeLessThan(1);
  });

  // Check of the laws that this one replaces: level in the middle, dB (same sources).
  test.each([
    ['equal gain', 0.5, [0, -1.25, -3.01]],
    ['equal power', Math.SQRT1_2, [3.01, 1.76, 0]],
  ])('%s, by contrast, moves the middle as the tables say', (_law, gain, expected) => {
    [1, 0.5, 0].forEach((r, k) => {
      expect(decibels(2 * gain * gain * (1 + r))).toBeCloseTo(expected[k] ?? NaN, 2);
    });
  });

  test('farther apart it leaves the line, as the contract of the table says: −1.33 dB at 6 dB, −7.1 dB at 20', () => {
    const worst = (gap: number): number => {
      const second = 10 ** (-gap / 10);
      const deviations = Array.from({ length: 480 }, (_, i) => {
        const x = (i + 0.5) / 480;
        const power = matchedGain(1 - x, 0) ** 2 + matchedGain(x, 0) ** 2 * second;
        return decibels(power / (1 - x + x * second));
      });
      return Math.min(...deviations);
    };
    expect(worst(6)).toBeCloseTo(-1.33, 1);
    expect(worst(20)).toBeCloseTo(-7.1, 1);
  });
});
