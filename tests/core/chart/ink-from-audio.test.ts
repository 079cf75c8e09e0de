import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { InkBuilder, inkFromAudio } from '../../../src/core/chart/ink-from-audio.js';
import type { Ink } from '../../../src/core/chart/ink.js';
import { sampleRate } from '../../../src/core/units/index.js';

const RATE = sampleRate(48_000);
const STEP = 240;
const BAR = 96_000;

/** A struck string: a sudden sine that dies away by 60 dB in `ring` seconds. */
function pluck(into: Float32Array, at: number, level: number, { hz = 220, ring = 1.2 } = {}): void {
  for (let i = at; i < into.length; i += 1) {
    const seconds = (i - at) / RATE;
    into[i] = (into[i] ?? 0) + level * 10 ** ((-3 * seconds) / ring) * Math.cos(2 * Math.PI * hz * seconds);
  }
}

/** Repeatable noise, uniform in ±level. */
function noise(length: number, level: number): Float32Array {
  let seed = 12_345;
  return Float32Array.from({ length }, () => {
    seed = (seed * 16_807) % 2_147_483_647;
    return level * ((2 * seed) / 2_147_483_647 - 1);
  });
}

const framesOf = (ink: Ink, span: number): readonly number[] => ink.strokes.map((stroke) => stroke.at * span);
const at = (decibels: number): number => 10 ** (decibels / 20);

describe('onsets', () => {
  test.each([
    ['on the beats of a bar', [0, 24_000, 48_000, 72_000], { hz: 220 }],
    ['off the grid', [1_111, 20_003, 55_555, 71_234], { hz: 330 }],
    ['sixteenths at 120 a minute', [0, 6_000, 12_000, 18_000, 24_000, 30_000], { hz: 440, ring: 0.3 }],
    ['on the lowest bass string, whose wave is longer than four steps', [500, 48_500], { hz: 41.2 }],
    ['on a high, short sound', [3_000, 9_000, 15_000], { hz: 6_000, ring: 0.08 }],
  ])('lie within one step of where they were played: %s', (_, places, sound) => {
    const samples = new Float32Array(BAR);
    for (const place of places) pluck(samples, place, 0.5, sound);

    const found = framesOf(inkFromAudio(samples, { bars: 1, sampleRate: RATE }), BAR);

    expect(found).toHaveLength(places.length);
    for (const [i, place] of places.entries()) expect(Math.abs((found[i] ?? NaN) - place)).toBeLessThanOrEqual(STEP);
  });

  test('are found over another part that goes on softly', () => {
    const samples = noise(BAR, at(-40));
    for (const place of [20_000, 60_000]) pluck(samples, place, 0.5);

    const found = framesOf(inkFromAudio(samples, { bars: 1, sampleRate: RATE }), BAR).filter((frame) => frame > STEP);

    expect(found.map((frame) => Math.round(frame / 1_000))).toEqual([20, 60]);
  });

  test('are one for a note that swells', () => {
    const samples = Float32Array.from({ length: BAR }, (_, i) => {
      const swell = Math.min(1, i / 9_600);
      return 0.5 * swell * Math.sin((2 * Math.PI * 196 * i) / RATE);
    });

    expect(inkFromAudio(samples, { bars: 1, sampleRate: RATE }).strokes).toHaveLength(1);
  });

  test('are never closer than 50 ms', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 0, max: BAR - 1 }), { maxLength: 12 }), (places) => {
        const samples = new Float32Array(BAR);
        for (const place of places) pluck(samples, place, 0.4, { ring: 0.2 });
        const found = framesOf(inkFromAudio(samples, { bars: 1, sampleRate: RATE }), BAR);
        const gaps = found.slice(1).map((frame, i) => frame - found[i]!);
        expect(Math.min(...gaps, Infinity)).toBeGreaterThan(2_399);
      }),
      { numRuns: 40 },
    );
  });
});

describe('what is no onset', () => {
  test.each([
    ['no samples', new Float32Array(0)],
    ['silence', new Float32Array(BAR)],
    ['sound under −48 dB', noise(BAR, at(-50))],
    ['samples that are not numbers', new Float32Array(BAR).fill(NaN)],
  ])('%s gives no stroke', (_, samples) => {
    expect(inkFromAudio(samples, { bars: 1, sampleRate: RATE })).toEqual({ strokes: [], bars: 1 });
  });

  test('a noise that goes on is at most the one stroke with which it began', () => {
    expect(inkFromAudio(noise(10 * BAR, at(-30)), { bars: 10, sampleRate: RATE }).strokes.length).toBeLessThanOrEqual(
      1,
    );
  });
});

describe('heights', () => {
  test.each([
    [0, 1],
    [-12, 0.75],
    [-24, 0.5],
    [-36, 0.25],
  ])('a peak of %d dB stands %d high', (decibels, height) => {
    const samples = new Float32Array(BAR);
    pluck(samples, 4_800, at(decibels));

    expect(inkFromAudio(samples, { bars: 1, sampleRate: RATE }).strokes[0]?.height).toBeCloseTo(height, 2);
  });

  test('beyond full scale is as high as full scale', () => {
    const samples = new Float32Array(BAR);
    pluck(samples, 0, 3);

    expect(inkFromAudio(samples, { bars: 1, sampleRate: RATE }).strokes[0]?.height).toBe(1);
  });
});

describe('decay', () => {
  test('ends where the next stroke begins', () => {
    const samples = new Float32Array(BAR);
    for (const place of [0, 24_000]) pluck(samples, place, 0.5, { ring: 8 });

    const [first, second] = inkFromAudio(samples, { bars: 1, sampleRate: RATE }).strokes;

    expect((first?.at ?? 0) + (first?.decay ?? 0)).toBeCloseTo(second?.at ?? NaN, 9);
  });

  test('ends about where the sound has fallen by 26 dB', () => {
    const samples = new Float32Array(BAR);
    pluck(samples, 0, 0.8, { hz: 500, ring: 1.2 });

    const decay = (inkFromAudio(samples, { bars: 1, sampleRate: RATE }).strokes[0]?.decay ?? 0) * BAR;

    // 60 dB in 1.2 s is 26 dB in 0.52 s; the level is read over 35 ms.
    expect(decay / RATE).toBeGreaterThan(0.5);
    expect(decay / RATE).toBeLessThan(0.58);
  });

  test('never reaches beyond the span', () => {
    const samples = new Float32Array(BAR);
    pluck(samples, 90_000, 0.8, { ring: 10 });

    const [stroke] = inkFromAudio(samples, { bars: 1, sampleRate: RATE }).strokes;

    expect((stroke?.at ?? 0) + (stroke?.decay ?? 0)).toBeLessThanOrEqual(1);
  });
});

describe('the lead before the first bar line', () => {
  const withLead = (place: number): Ink => {
    const samples = new Float32Array(4_800 + BAR);
    pluck(samples, place, 0.5);
    return inkFromAudio(samples, { bars: 1, sampleRate: RATE, startFrame: 4_800 });
  };

  test('is not part of the span', () => {
    expect(framesOf(withLead(4_800 + 48_000), BAR)[0]).toBeCloseTo(48_000, -3);
  });

  test('gives an attack up to 60 ms early to the bar line', () => {
    expect(withLead(4_800 - 1_440).strokes[0]?.at).toBe(0);
  });

  test('keeps what was played well before it out of the ink', () => {
    expect(withLead(200).strokes).toEqual([]);
  });
});

describe('ink that grows', () => {
  test('is the same for every split into blocks', () => {
    const samples = noise(BAR, at(-50));
    for (const place of [3_333, 20_000, 47_000, 80_123]) pluck(samples, place, 0.4, { ring: 0.5 });
    const whole = inkFromAudio(samples, { bars: 1, sampleRate: RATE });

    fc.assert(
      fc.property(fc.array(fc.integer({ min: 1, max: 9_000 }), { minLength: 1, maxLength: 60 }), (sizes) => {
        const builder = new InkBuilder({ sampleRate: RATE, barFrames: BAR });
        let from = 0;
        for (const size of sizes) {
          builder.add(samples.subarray(from, from + size));
          from += size;
        }
        builder.add(samples.subarray(from));
        expect(builder.ink(1)).toEqual(whole);
      }),
      { numRuns: 60 },
    );
  });

  test('reaches to what has been added while a note sounds', () => {
    const samples = new Float32Array(BAR);
    pluck(samples, 0, 0.5, { ring: 20 });
    const builder = new InkBuilder({ sampleRate: RATE, barFrames: BAR });

    builder.add(samples.subarray(0, 24_000));
    const early = builder.ink(1).strokes[0]?.decay;
    builder.add(samples.subarray(24_000, 48_000));

    expect([early, builder.ink(1).strokes[0]?.decay]).toEqual([0.25, 0.5]);
  });

  test('can be asked for any number of bars', () => {
    const builder = new InkBuilder({ sampleRate: RATE, barFrames: 24_000 });
    const samples = new Float32Array(48_000);
    for (const place of [0, 24_000]) pluck(samples, place, 0.5, { ring: 0.4 });
    builder.add(samples);

    expect(builder.ink(4).strokes.map((stroke) => stroke.at)).toEqual([0, 0.25]);
    expect(builder.ink(1).strokes.map((stroke) => stroke.at)).toEqual([0]);
  });

  test('refuses a bar without length', () => {
    expect(() => new InkBuilder({ sampleRate: RATE, barFrames: 0 })).toThrow('Got 0 frames a bar');
  });
});
