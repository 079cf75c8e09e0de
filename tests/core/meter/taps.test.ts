import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Metre } from '../../../src/core/meter/metre.js';
import { addTap, NO_TAPS, readTaps, type TapReading, type Taps } from '../../../src/core/meter/taps.js';
import { milliseconds } from '../../../src/core/units/index.js';
import { anyMetre, DOTTED_QUARTER, EIGHTH, HALF, metre, QUARTER } from './given.js';
import { seededNormal } from './seeded.js';

const fourFour = metre(4, 4);

const tapAt = (...times: readonly number[]): Taps =>
  times.reduce((taps, time) => addTap(taps, milliseconds(time)), NO_TAPS);

/** Taps with these gaps, the first 10 s after the clock began. */
const tapGaps = (...gaps: readonly number[]): Taps => {
  let time = 10_000;
  return tapAt(time, ...gaps.map((gap) => (time += gap)));
};

/** `count` taps `gaps` apart, over and over, each scattered by a standard deviation of `scatter` ms. */
function scattered(normal: () => number, scatter: number, count: number, ...gaps: readonly number[]): Taps {
  let time = 10_000;
  const times = Array.from({ length: count }, (_, i) => (i === 0 ? time : (time += gaps[(i - 1) % gaps.length]!)));
  return tapAt(...times.map((exact) => exact + scatter * normal()));
}

function read(taps: Taps, given: Metre = fourFour, mark = undefined as Parameters<typeof readTaps>[2]): TapReading {
  const reading = readTaps(taps, given, mark);
  if (reading === null) throw new Error(`Got no reading of ${taps.times.join(', ')} when expected one.`);
  return reading;
}

const deviation = (values: readonly number[]) => {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  return Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (values.length - 1));
};

describe('readTaps', () => {
  test('reads nothing from no tap, and from one', () => {
    expect(readTaps(NO_TAPS, fourFour)).toBeNull();
    expect(readTaps(tapAt(5), fourFour)).toBeNull();
  });

  // Seconds per beat = 60 / bpm: definition.
  test.each([60, 90, 96, 100, 120, 125, 128, 137, 140, 174])('reads %i from even taps that far apart', (value) => {
    for (const count of [2, 3, 4, 8, 20]) {
      const reading = read(scattered(() => 0, 0, count, 60_000 / value));
      expect(reading.bpm).toBeCloseTo(value, 6);
      expect(reading).toMatchObject({ tapped: 'beats', other: null, used: count, leftOut: 0 });
    }
  });

  test('always offers half and double', () => {
    const reading = read(tapGaps(500, 500));
    expect([reading.half, reading.bpm, reading.double].map(Math.round)).toEqual([60, 120, 240]);
  });

  test.each([
    ['4/4 by the quarter', fourFour, QUARTER, 120],
    ['4/4 by the half', fourFour, HALF, 60],
    ['4/4 felt in two: a tap is a half', metre(4, 4, 2, 2), QUARTER, 240],
    ['2/2 by the half', metre(2, 2), HALF, 120],
    ['6/8 by the dotted quarter', metre(6, 8), DOTTED_QUARTER, 120],
    ['6/8 by the eighth', metre(6, 8), EIGHTH, 360],
    ['5/4 as 3+2', metre(5, 4, 3, 2), QUARTER, 120],
  ])('counts by the mark: %s', (_, given, mark, value) => {
    expect(read(tapGaps(500, 500, 500), given, mark).bpm).toBeCloseTo(value, 6);
  });

  test('takes the usual mark of the metre where none is given', () => {
    expect(read(tapGaps(500, 500), metre(6, 8)).bpm).toBeCloseTo(120, 6);
    expect(read(tapGaps(500, 500), metre(2, 2)).bpm).toBeCloseTo(120, 6);
  });

  test('grows sure with more taps', () => {
    const readings = [2, 3, 4, 6, 8].map((count) => read(scattered(() => 0, 0, count, 500)));
    for (let i = 1; i < readings.length; i++) {
      expect(readings[i]!.spread).toBeLessThan(readings[i - 1]!.spread);
      expect(readings[i]!.confidence).toBeGreaterThan(readings[i - 1]!.confidence);
    }
    expect(readings[0]!.confidence).toBeLessThan(0.3);
    expect(readings.at(-1)!.confidence).toBeGreaterThan(0.99);
    expect(readings.at(-1)!.spread).toBeLessThan(1.2);
  });
});

describe('any taps at all', () => {
  const anyTimes = fc.array(fc.double({ min: 0, max: 20_000, noNaN: true }), { maxLength: 40 });

  test('give a tempo above zero or none, never an error', () => {
    fc.assert(
      fc.property(anyTimes, anyMetre, (times, given) => {
        const taps = tapAt(...times.toSorted((a, b) => a - b));
        const reading = readTaps(taps, given);
        expect((reading?.used ?? 0) + (reading?.leftOut ?? 0)).toBe(reading === null ? 0 : taps.times.length);
        if (reading === null) return;
        expect(reading.used).toBeGreaterThanOrEqual(reading.leftOut);
        expect(reading.spread).toBeGreaterThan(0);
        expect(reading.confidence).toBeGreaterThanOrEqual(0);
        expect(reading.confidence).toBeLessThanOrEqual(1);
      }),
    );
  });

  test('read the same an hour later', () => {
    fc.assert(
      fc.property(anyTimes, (times) => {
        const taps = tapAt(...times.map(Math.round).toSorted((a, b) => a - b));
        const later = { times: taps.times.map((time) => milliseconds(time + 3_600_000)) };
        const [now, then] = [readTaps(taps, fourFour), readTaps(later, fourFour)];
        expect(then?.bpm ?? 0).toBeCloseTo(now?.bpm ?? 0, 5);
      }),
    );
  });
});

describe('scatter', () => {
  // SD(bpm) of the regression: least squares, SD = bpm²/60 · σ · √(12/(n(n²−1))), as simulated outside this project with
  // 20,000 runs and σ = 20 ms; from the first and last tap alone: bpm²/60 · σ · √2/(n−1).
  test.each([
    [4, 90, 1.21, 1.27],
    [4, 120, 2.15, 2.26],
    [4, 160, 3.82, 4.03],
    [6, 90, 0.65, 0.76],
    [6, 120, 1.15, 1.36],
    [6, 160, 2.04, 2.41],
    [8, 90, 0.42, 0.55],
    [8, 120, 0.74, 0.97],
    [8, 160, 1.32, 1.71],
    [12, 90, 0.23, 0.35],
    [12, 120, 0.4, 0.62],
    [12, 160, 0.71, 1.1],
    [16, 90, 0.15, 0.26],
    [16, 120, 0.26, 0.45],
    [16, 160, 0.46, 0.81],
  ])('%i taps at %i, each 20 ms off, leave the tempo a standard deviation of %f', (count, value, bySlope, byEnds) => {
    const normal = seededNormal(count * 1000 + value);
    const series = Array.from({ length: 2500 }, () => scattered(normal, 20, count, 60_000 / value));
    const readings = series.map((taps) => read(taps));
    const rounding = 0.005;
    expect(Math.abs(deviation(readings.map(({ bpm }) => bpm)) - bySlope)).toBeLessThan(0.05 * bySlope + rounding);

    const fromEnds = series.map(({ times }) => (60_000 * (count - 1)) / (times.at(-1)! - times[0]!));
    expect(Math.abs(deviation(fromEnds) - byEnds)).toBeLessThan(0.05 * byEnds + rounding);

    // The 95 % interval, whose scatter is partly prior knowledge, is honest within 4 %, and not narrower than that.
    const inside = readings.filter(({ bpm, spread }) => Math.abs(bpm - value) <= spread);
    expect(inside.length / readings.length).toBeGreaterThan(0.91);
  });

  test('confidence is how often the tempo is within 1.5 %, at the usual scatter of 4 %', () => {
    for (const count of [3, 4, 6, 8]) {
      const normal = seededNormal(count);
      const readings = Array.from({ length: 2000 }, () => read(scattered(normal, 20, count, 500)));
      const right = readings.filter(({ bpm }) => Math.abs(bpm / 120 - 1) < 0.015).length / readings.length;
      const said = readings.reduce((sum, { confidence }) => sum + confidence, 0) / readings.length;
      expect(Math.abs(said - right)).toBeLessThan(0.05);
    }
  });
});

describe('a tap that goes wrong', () => {
  const places = [1, 2, 3, 4, 5, 6];

  test.each(places.flatMap((place) => [-200, -150, 150, 200].map((off): [number, number] => [place, off])))(
    'tap %i of eight, %i ms off, is left out',
    (place, off) => {
      const times = Array.from({ length: 8 }, (_, i) => 10_000 + 500 * i + (i === place ? off : 0));
      const reading = read(tapAt(...times));
      expect(reading.bpm).toBeCloseTo(120, 6);
      expect(reading).toMatchObject({ used: 7, leftOut: 1 });
    },
  );

  test.each([0, 7])('the first and the last of eight too (tap %i)', (place) => {
    for (const off of [-150, 150]) {
      const times = Array.from({ length: 8 }, (_, i) => 10_000 + 500 * i + (i === place ? off : 0));
      expect(read(tapAt(...times)).bpm).toBeCloseTo(120, 6);
    }
  });

  test('two of twelve, one after the other, are both left out', () => {
    const off = new Map([
      [5, 180],
      [6, -180],
    ]);
    const reading = read(tapAt(...Array.from({ length: 12 }, (_, i) => 10_000 + 500 * i + (off.get(i) ?? 0))));
    expect(reading.bpm).toBeCloseTo(120, 6);
    expect(reading).toMatchObject({ used: 10, leftOut: 2 });
  });

  test('among scattered taps, it costs less than 2 % in 99 of 100 series', () => {
    const normal = seededNormal(7);
    const errors = Array.from({ length: 1000 }, (_, run) => {
      const { times } = scattered(normal, 15, 10, 500);
      const wrong = times.map((time, i) => (i === run % 10 ? time + 170 : time));
      return Math.abs(read(tapAt(...wrong)).bpm / 120 - 1);
    });
    expect(errors.toSorted((a, b) => a - b)[989]).toBeLessThan(0.02);
  });

  test.each(places)('after tap %i one is missing: the gap counts two beats', (place) => {
    const gaps = Array.from({ length: 7 }, (_, i) => (i === place ? 1000 : 500));
    const reading = read(tapGaps(...gaps));
    expect(reading.bpm).toBeCloseTo(120, 6);
    expect(reading).toMatchObject({ used: 8, leftOut: 0 });
  });

  test('two missing, far apart, are no harder', () => {
    expect(read(tapGaps(500, 1000, 500, 500, 1000, 500)).bpm).toBeCloseTo(120, 6);
  });

  test.each(places)('one too many, between taps %i and the next, is left out', (place) => {
    const gaps = Array.from({ length: 7 }, (_, i) => (i === place ? [250, 250] : [500])).flat();
    const reading = read(tapGaps(...gaps));
    expect(reading.bpm).toBeCloseTo(120, 6);
    expect(reading.leftOut).toBe(1);
  });

  test('two too many within a beat are left out', () => {
    const reading = read(tapGaps(500, 500, 500, 500, 500, 160, 170, 170, 500, 500));
    expect(reading.bpm).toBeCloseTo(120, 6);
    expect(reading).toMatchObject({ used: 9, leftOut: 2 });
  });

  test('of two gaps, one twice as long, the short one is the beat', () => {
    expect(read(tapGaps(500, 1000)).bpm).toBeCloseTo(120, 6);
    expect(read(tapGaps(1000, 500)).bpm).toBeCloseTo(120, 6);
  });
});

describe('addTap', () => {
  test.each([
    ['up to 2 s is a slow series', [1900, 2000], 3],
    ['over 2 s starts anew', [1900, 2001], 1],
    ['even where it would be a missed tap: 2 s wins', [1100, 1100, 2200], 1],
    ['twice the running interval is a missed tap', [500, 500, 1000], 4],
    ['up to 2.5 times it still belongs', [500, 500, 1250], 4],
    ['more than 2.5 times it starts anew', [500, 500, 1251], 1],
    ['a missed tap does not lengthen the running interval', [500, 500, 1000, 1251], 1],
    ['after a quick pair too', [100, 500], 1],
  ])('a gap of %s', (_, gaps, count) => {
    expect(tapGaps(...gaps).times).toHaveLength(count);
  });

  test('the tap after a pause is the first of the new series', () => {
    const taps = tapGaps(500, 500, 500, 3000, 400, 400);
    expect(taps.times).toHaveLength(3);
    expect(read(taps).bpm).toBeCloseTo(150, 6);
  });

  test('takes the mean of uneven beats as running: a missed tap across a long and a short one belongs', () => {
    // 7/8 as 2+2+3 by the eighth of 250 ms; the long and a short beat together are 2.5 short ones.
    const taps = tapGaps(500, 500, 750, 500, 510 + 750);
    expect(taps.times).toHaveLength(6);
  });

  test('ignores a bounce, that is less than 60 ms', () => {
    const taps = tapAt(0, 59, 500, 500);
    expect(taps.times).toEqual([0, 500]);
    expect(tapAt(0, 60).times).toEqual([0, 60]);
  });

  test('starts anew where time went backwards', () => {
    expect(tapAt(1000, 1500, 200).times).toEqual([200]);
  });

  test('keeps the newest 20', () => {
    const taps = tapAt(...Array.from({ length: 50 }, (_, i) => 500 * i));
    expect(taps.times).toHaveLength(20);
    expect(taps.times.at(-1)).toBe(49 * 500);
    expect(taps.times[0]).toBe(30 * 500);
  });

  test('leaves the taps that it was given as they were', () => {
    const before = tapAt(0, 500);
    addTap(before, milliseconds(1000));
    expect(before.times).toEqual([0, 500]);
  });
});

describe('uneven metres', () => {
  const eighth = 60_000 / 210;

  test.each<[string, Metre]>([
    ['7/8 as 2+2+3', metre(7, 8)],
    ['7/8 as 3+2+2', metre(7, 8, 3, 2, 2)],
    ['5/8 as 3+2', metre(5, 8)],
    ['8/8 as 3+3+2', metre(8, 8)],
    ['11/8 as 2+2+3+2+2', metre(11, 8, 2, 2, 3, 2, 2)],
  ])('%s: taps at the felt beats, begun on any of them, are told from taps at the eighths', (_, given) => {
    const normal = seededNormal(given.num);
    for (const start of given.groups.keys()) {
      const turned = [...given.groups.slice(start), ...given.groups.slice(0, start)];
      const gaps = turned.map((pulses) => pulses * eighth);
      for (let run = 0; run < 50; run++) {
        const beats = read(scattered(normal, 15, 2 * given.groups.length + 1, ...gaps), given);
        expect(beats.tapped).toBe('beats');
        expect(beats.other).toBeNull();
        expect(Math.abs(beats.bpm / 210 - 1)).toBeLessThan(0.06);
      }
    }
    for (let run = 0; run < 50; run++) {
      const pulses = read(scattered(normal, 10, given.num + 1, eighth), given);
      expect(pulses.tapped).toBe('pulses');
      expect(Math.abs(pulses.bpm / 210 - 1)).toBeLessThan(0.06);
    }
  });

  test('a missed tap among uneven beats counts both of its beats', () => {
    const reading = read(tapGaps(...[2, 2, 3, 2, 5, 2, 2, 3].map((pulses) => pulses * eighth)), metre(7, 8));
    expect(reading.bpm).toBeCloseTo(210, 6);
    expect(reading).toMatchObject({ tapped: 'beats', leftOut: 0 });
  });

  test('a wrong tap among uneven beats is left out', () => {
    const normal = seededNormal(3);
    const { times } = scattered(normal, 5, 13, ...[2, 2, 3].map((pulses) => pulses * eighth));
    const reading = read(tapAt(...times.map((time, i) => (i === 5 ? time + 160 : time))), metre(7, 8));
    expect(Math.abs(reading.bpm / 210 - 1)).toBeLessThan(0.01);
    expect(reading).toMatchObject({ tapped: 'beats', leftOut: 1 });
  });
});

describe('where the taps leave a choice', () => {
  test('of even beats, the felt tempo nearer to 120 is taken and the other offered', () => {
    // 6/8 tapped every 600 ms: in two at 100, or eighths that make a dotted quarter of 33.3.
    const slow = read(tapGaps(600, 600, 600), metre(6, 8));
    expect(slow.tapped).toBe('beats');
    expect([slow.bpm, slow.other].map((value) => Math.round(10 * value!) / 10)).toEqual([100, 33.3]);

    // Every 200 ms: in two at 300, or eighths that make a dotted quarter of 100.
    const quick = read(tapGaps(200, 200, 200), metre(6, 8));
    expect(quick.tapped).toBe('pulses');
    expect([quick.bpm, quick.other].map((value) => Math.round(value!))).toEqual([100, 300]);
  });

  test('so for a waltz in one', () => {
    expect(read(tapGaps(250, 250, 250), metre(3, 4, 3)).tapped).toBe('pulses');
    expect(read(tapGaps(1000, 1000, 1000), metre(3, 4, 3)).tapped).toBe('beats');
  });

  test('two taps in 7/8 leave it, a bar of felt beats does not', () => {
    expect(read(tapGaps(286), metre(7, 8)).other).not.toBeNull();
    expect(read(tapGaps(572, 572, 858, 572), metre(7, 8)).other).toBeNull();
  });

  test('metres whose pulses are the beats leave none', () => {
    expect(read(tapGaps(200, 200, 200)).other).toBeNull();
    expect(read(tapGaps(200, 200, 200), metre(5, 4, 3, 2)).other).toBeNull();
  });
});
