import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Reading, ReadingTerms } from '../../../src/core/loop/readings.js';
import { neighbours, readingAs, readingsOf } from '../../../src/core/loop/readings.js';
import { barFrames, exactBarFrames } from '../../../src/core/meter/grid.js';
import { defaultMetre } from '../../../src/core/meter/metres.js';
import type { PulseValue } from '../../../src/core/meter/metre.js';
import { bpm, frames, nearestFrame, sampleRate } from '../../../src/core/units/index.js';
import { seededNoise } from '../../support/tones.js';

const RATE = 48_000;

function terms(more: Partial<ReadingTerms> = {}, num = 4, den: PulseValue = 4): ReadingTerms {
  return {
    ...defaultMetre(num, den),
    rate: sampleRate(RATE),
    slowest: bpm(20),
    fastest: bpm(400),
    taps: null,
    ...more,
  };
}

/** Frames of so many bars at a tempo by the mark, exact and then rounded once: what somebody played. */
const lengthOf = (bars: number, tempo: number, { metre, mark, rate }: ReadingTerms) =>
  nearestFrame(bars * exactBarFrames(metre, { bpm: bpm(tempo), mark }, rate));

const said = (reading: Reading | null | undefined) =>
  reading == null ? null : `${reading.bars} at ${Math.round(reading.bpm * 10) / 10}`;

describe('the likeliest reading', () => {
  // Preferred pulse 500–550 ms: van Noorden and Moelants, J. New Music Res. 28, 1999. Log-normal about 120: Ellis 2007,
  // from memory. Phrases of 4 and 8 bars: common practice, no source.
  test.each([
    [4, 4, 2, '1 at 120'],
    [4, 4, 4, '2 at 120'],
    [4, 4, 10, '4 at 96'],
    [4, 4, 16, '8 at 120'],
    [4, 4, 20, '8 at 96'],
    [4, 4, 60, '32 at 128'],
    [3, 4, 12, '8 at 120'],
    [6, 8, 8, '8 at 120'],
    [7, 8, 14, '8 at 240'],
  ] as const)('of a loop in %d/%d that lasts %d s is %s', (num, den, seconds, expected) => {
    expect(said(readingsOf(frames(seconds * RATE), terms({}, num, den))[0])).toBe(expected);
  });

  test('is the one that was tapped', () => {
    const played = lengthOf(5, 101, terms());
    const taps = { bpm: bpm(100.4), spread: 1.5 };
    expect(said(readingsOf(played, terms())[0])).not.toBe('5 at 101');
    expect(said(readingsOf(played, terms({ taps }))[0])).toBe('5 at 101');
  });

  test('is at double of what was tapped where only that is whole bars', () => {
    const played = lengthOf(5, 100, terms());
    expect(said(readingsOf(played, terms())[0])).toBe('8 at 160');
    expect(said(readingsOf(played, terms({ taps: { bpm: bpm(50), spread: 0.5 } }))[0])).toBe('5 at 100');
  });

  test('does without taps that fit no whole number of bars', () => {
    const played = lengthOf(1, 120, terms());
    expect(said(readingsOf(played, terms({ taps: { bpm: bpm(150), spread: 0.5 } }))[0])).toBe('1 at 120');
  });
});

/*
 * Shares of 4,000 loops in 4/4, tempo even from 60 to 180, whose likeliest reading is the one that was played; taps off by
 * so much (standard deviation of the tempo tapped before from the one played afterwards):
 *
 *   bars              prior alone   taps 1 % off   3 % off   6 % off
 *   1                 79.6 %        100 %          100 %     98 %
 *   2, 4, 8 or 16     71.3 %        100 %          88–100 %  56–98 %
 *   3, 5, 6, 7, 12    0 %           100 %          92–100 %  60–84 %
 *   1, 2, 4 or 8      73.5 %        100 %          99.9 %    90.4 %
 *   1 to 16           23.3 %        99.9 %         90.5 %    67 %
 *
 * From 80 to 160 the prior alone reads 94 % of 1, 2, 4, 8 and 16 bars. It never chooses 3, 5, 6, 7 or 12: a length says
 * nothing by itself, and the usual numbers are taken first; a bar more or fewer is one press away.
 */
describe('the share of loops that are read as they were played', () => {
  /** @param tapped standard deviation of the tapped tempo from the one played, as a share; null without taps. */
  function share(counts: readonly number[], tapped: number | null): number {
    const random = seededNoise(9);
    let right = 0;
    const rounds = 1000;
    for (let i = 0; i < rounds; i++) {
      const count = counts[Math.floor(((random() + 1) / 2) * counts.length)] ?? 1;
      const tempo = 120 + 60 * random();
      const off = random() + random() + random();
      const taps = tapped === null ? null : { bpm: bpm(tempo * (1 + tapped * off)), spread: 0.01 * tempo };
      const reading = readingsOf(lengthOf(count, tempo, terms()), terms({ taps }))[0];
      if (reading?.bars === count) right++;
    }
    return right / rounds;
  }

  test.each([
    ['1, 2, 4 or 8 bars', [1, 2, 4, 8], 0.7],
    ['any number of bars from 1 to 16', Array.from({ length: 16 }, (_, i) => i + 1), 0.2],
  ] as const)('by the prior alone, of %s: at least as measured', (_, counts, least) => {
    expect(share(counts, null)).toBeGreaterThanOrEqual(least);
  });

  test.each([
    ['1, 2, 4 or 8 bars', [1, 2, 4, 8], 0.98],
    ['any number of bars from 1 to 16', Array.from({ length: 16 }, (_, i) => i + 1), 0.87],
  ] as const)('with taps about 3 %% off: at least as measured, of %s', (_, counts, least) => {
    expect(share(counts, 0.03)).toBeGreaterThanOrEqual(least);
  });
});

const anyLength = fc.integer({ min: 30_000, max: 30_000_000 }).map(frames);
const anyMetre = fc.tuple(fc.integer({ min: 1, max: 13 }), fc.constantFrom<PulseValue>(2, 4, 8, 16));
const anyRate = fc.constantFrom(44_100, 48_000, 88_200, 96_000, 192_000).map(sampleRate);

describe('every reading', () => {
  test('is whole bars of the loop, rounded once: off by at most half a frame a bar', () => {
    fc.assert(
      fc.property(anyLength, anyMetre, anyRate, (played, [num, den], rate) => {
        const given = terms({ rate }, num, den);
        for (const reading of readingsOf(played, given)) {
          expect(reading.bodyFrames).toBe(reading.bars * reading.barFrames);
          expect(Math.abs(reading.bodyFrames - played)).toBeLessThanOrEqual(reading.bars / 2);
          // The tempo that the song is given sounds as these very bars.
          expect(barFrames(given.metre, { bpm: reading.bpm, mark: given.mark }, rate)).toBe(reading.barFrames);
          expect(reading.bpm).toBeGreaterThanOrEqual(20);
          expect(reading.bpm).toBeLessThanOrEqual(400);
        }
      }),
    );
  });

  test('is there once, from 1 to 64 bars', () => {
    fc.assert(
      fc.property(anyLength, (played) => {
        const counts = readingsOf(played, terms()).map(({ bars }) => bars as number);
        expect(new Set(counts).size).toBe(counts.length);
        expect(Math.min(...counts, 64)).toBeGreaterThanOrEqual(1);
        expect(Math.max(...counts, 1)).toBeLessThanOrEqual(64);
      }),
    );
  });

  test.each([
    ['short for the fastest bar', 20_000],
    ['long for 64 of the slowest', 40_000_000],
  ])('is missing for a loop too %s', (_, played) => {
    expect(readingsOf(frames(played), terms())).toEqual([]);
  });
});

describe('neighbours', () => {
  const named = (reading: Reading, given: ReadingTerms) => {
    const { fewer, more, half, double } = neighbours(reading, given);
    return [said(fewer), said(more), said(half), said(double)];
  };

  test.each([
    [10, 4, ['3 at 72', '5 at 120', '2 at 48', '8 at 192']],
    [10, 5, ['4 at 96', '6 at 144', null, '10 at 240']],
    [2, 1, [null, '2 at 240', null, '2 at 240']],
    [160, 64, ['63 at 94.5', null, '32 at 48', null]],
    [12, 1, [null, '2 at 40', null, '2 at 40']],
  ] as const)(
    'of %d s read as %d bars are a bar fewer, a bar more, half and double time',
    (seconds, bars, expected) => {
      const reading = readingAs(frames(seconds * RATE), bars, terms());
      if (reading === null) throw new Error('Got no reading when expected one.');
      expect(named(reading, terms())).toEqual(expected);
    },
  );

  test('lead back: a bar more and then fewer is the same reading, from the loop as it was played', () => {
    fc.assert(
      fc.property(anyLength, fc.integer({ min: 1, max: 40 }), (played, count) => {
        const reading = readingAs(played, count, terms());
        if (reading === null) return;
        const { more, double } = neighbours(reading, terms());
        if (more !== null) expect(neighbours(more, terms()).fewer).toEqual(reading);
        if (double !== null) expect(neighbours(double, terms()).half).toEqual(reading);
      }),
    );
  });
});
