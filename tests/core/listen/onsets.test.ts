import { describe, expect, test } from 'vitest';
import { findOnsets } from '../../../src/core/listen/onsets.js';
import { sampleRate } from '../../../src/core/units/index.js';
import { pluckedString, seededNoise, signal } from '../../support/tones.js';

const RATES = [44_100, 48_000, 96_000];
const LENGTH_SECONDS = 3;
const TIMES = [0.5, 1.003, 1.25, 1.5, 2.1, 2.611];

type Sound = (seconds: number, noise: () => number) => number;

function found(rate: number, sound: Sound, seed = 1): number[] {
  const noise = seededNoise(seed);
  const samples = signal(LENGTH_SECONDS * rate, (i) => sound(i / rate, noise));
  return findOnsets(samples, sampleRate(rate)).map(({ frame }) => frame / rate);
}

/** Every time has its onset within the tolerance (ms, late and early), in order, and there is no other. */
function expectOnsets(onsets: readonly number[], times: readonly number[], early: number, late: number): void {
  expect(onsets).toHaveLength(times.length);
  onsets.forEach((onset, k) => {
    const error = (onset - (times[k] ?? NaN)) * 1000;
    expect(error).toBeGreaterThanOrEqual(-early);
    expect(error).toBeLessThanOrEqual(late);
  });
}

/** Seconds since the last of the times, negative before the first. */
const since = (seconds: number): number => seconds - (TIMES.findLast((time) => time <= seconds + 1e-9) ?? Infinity);

describe.each(RATES)('at %i frames a second', (rate) => {
  test.each([41.2, 82.4, 110, 196, 329.6, 659.3])(
    'plucks of %f Hz that stop what rang are found within ±1 ms',
    (hertz) => {
      const string = pluckedString(rate, hertz, 0.5);
      for (const floor of [0, 0.0003, 0.003]) {
        expectOnsets(
          found(rate, (t, noise) => string(since(t)) + floor * noise()),
          TIMES,
          1,
          1,
        );
      }
    },
  );

  test.each([82.4, 146.8, 246.9])(
    'a pick on two strings from %f Hz that ring on is found within −1 … +4 ms',
    (hertz) => {
      const strings = [pluckedString(rate, hertz, 0.5), pluckedString(rate, hertz * 1.335, 0.5)];
      const scratch = (into: number): number => (into < 0 ? 0.001 : 0.1 * Math.exp(-into / 0.003) + 0.001);
      const sound: Sound = (t, noise) =>
        TIMES.reduce((sum, time, k) => sum + (strings[k % 2]?.(t - time) ?? 0), scratch(since(t)) * noise());
      expectOnsets(found(rate, sound), TIMES, 1, 4);
    },
  );

  test('hits, of noise with and without a drum’s tone, are found within ±0.5 ms', () => {
    const hit: Sound = (t, noise) => {
      const into = since(t);
      if (into < 0) return 0.0003 * noise();
      return 0.5 * noise() * Math.exp(-into / 0.04) + 0.4 * Math.sin(380 * into) * Math.exp(-into / 0.15);
    };
    const drum: Sound = (t) => (since(t) < 0 ? 0 : 0.7 * Math.sin(340 * since(t)) * Math.exp(-since(t) / 0.15));
    expectOnsets(found(rate, hit), TIMES, 0.5, 0.5);
    expectOnsets(found(rate, drum), TIMES, 0.5, 0.5);
  });

  test('a shaker in sixteenths at 120 is found stroke by stroke, weak and strong, within ±1 ms', () => {
    const shaker: Sound = (t, noise) => {
      const into = t % 0.125;
      const accent = Math.floor(t / 0.125 + 1e-9) % 2 === 0 ? 1 : 0.5;
      return noise() * (0.001 + 0.4 * accent * (into / 0.008) * Math.exp(1 - into / 0.008));
    };
    const strokes = Array.from({ length: 23 }, (_, k) => 0.125 * (k + 1));
    expectOnsets(found(rate, shaker), strokes, 1, 1);
  });

  test('plucks over a held chord are found', () => {
    const string = pluckedString(rate, 82.4, 0.3);
    const chord: Sound = (t) =>
      string(since(t)) + 0.08 * (Math.sin(1382.3 * t) + Math.sin(1741.7 * t) + Math.sin(2073.5 * t));
    expectOnsets(found(rate, chord), TIMES, 1, 4);
  });

  test.each([
    ['a vibrato tone with tremolo', vibrato(440)],
    ['a low vibrato tone', vibrato(98)],
    ['a saw wave of 41 Hz', (t: number) => 0.3 * (((41.2 * t) % 1) * 2 - 1)],
    ['pulses 31 times a second', (t: number) => Math.exp(-((t % (1 / 31)) / 0.002)) * Math.sin(5655 * t)],
    ['a beating pair', (t: number) => 0.3 * (Math.sin(1382.3 * t) + Math.sin(1407.4 * t))],
    ['a tone that swells for half a second', (t: number) => 0.3 * Math.min(1, t / 0.5) * Math.sin(1382.3 * t)],
    ['silence', () => 0],
    ['dither', (_: number, noise: () => number) => 0.000_004 * noise()],
  ] as [string, Sound][])('%s has no onset', (_name, sound) => {
    expect(found(rate, sound)).toEqual([]);
  });
});

function vibrato(hertz: number): Sound {
  return (t, noise) => {
    const turns = 2 * Math.PI * hertz * (t + (0.03 / 5.5 / 2 / Math.PI) * Math.sin(2 * Math.PI * 5.5 * t));
    let sum = 0.005 * noise();
    for (let k = 1; k < 12; k++) sum += Math.sin(k * turns) / k;
    return 0.2 * sum * (1 + 0.25 * Math.sin(2 * Math.PI * 5.5 * t + 1));
  };
}

test.each([0, 0.5, 0.9, 0.99, 0.999])('noise beds have no onset, white or brown (pole %f)', (pole) => {
  for (let seed = 0; seed < 8; seed++) {
    let last = 0;
    const bed: Sound = (_, noise) => (last = pole * last + 0.05 * noise());
    expect(found(48_000, bed, seed)).toEqual([]);
  }
});

test('a grace note 35 ms before a louder one and that one are one onset, at the first stroke', () => {
  const string = pluckedString(48_000, 220, 0.2);
  const flam: Sound = (t, noise) => 0.4 * string(t - 1) + string(t - 1.035) + 0.0003 * noise();
  expectOnsets(found(48_000, flam), [1], 1, 1);
});

test('strength says how far the sound rose: more out of silence than over what rings', () => {
  const string = pluckedString(48_000, 110, 0.5);
  const samples = signal(96_000, (i) => string(i / 48_000 - 0.5) + string(i / 48_000 - 1));
  const [first, second] = findOnsets(samples, sampleRate(48_000)).map(({ strength }) => strength);
  expect(first).toBeGreaterThan(20);
  expect(second).toBeGreaterThan(2.4);
  expect(second).toBeLessThan(first ?? 0);
});

test('what was there from the first frame on is no onset', () => {
  expect(found(48_000, (t) => 0.5 * Math.sin(1382 * t))).toEqual([]);
});

test.each([0, 1, 1000, 1024, 1200, 4000])(
  '%i frames of sound are too few to say much about, and no error',
  (length) => {
    const noise = seededNoise(1);
    expect(findOnsets(signal(length, noise), sampleRate(48_000))).toEqual([]);
  },
);

test('a sample that is not a number hides nothing that is far from it', () => {
  const string = pluckedString(48_000, 110, 0.3);
  const samples = signal(144_000, (i) => string(since(i / 48_000)) + 0.0003);
  samples[36_000] = NaN;
  samples[40_000] = Infinity;
  const onsets = findOnsets(samples, sampleRate(48_000)).map(({ frame }) => frame / 48_000);
  expect(onsets.every((onset) => onset > 0)).toBe(true);
  for (const time of TIMES) expect(onsets.some((onset) => Math.abs(onset - time) < 0.001)).toBe(true);
});
