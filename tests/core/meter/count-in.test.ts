import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { countInClicks, defaultCountIn } from '../../../src/core/meter/count-in.js';
import { barFrames, pulseOffset } from '../../../src/core/meter/grid.js';
import { feltBeats } from '../../../src/core/meter/metres.js';
import { bars, frames } from '../../../src/core/units/index.js';
import { anyMetre, anyRate, anyTempo, CD, metre, STUDIO } from './given.js';

describe('defaultCountIn', () => {
  // Common practice, no source.
  test.each([
    [88_199, CD, 2],
    [88_200, CD, 1],
    [95_999, STUDIO, 2],
    [96_000, STUDIO, 1],
    [48_000, STUDIO, 2],
    [480_000, STUDIO, 1],
  ])('a bar of %i frames at %i is counted in for %i', (length, rate, count) => {
    expect(defaultCountIn(frames(length), rate)).toBe(count);
  });
});

describe('countInClicks', () => {
  test('one bar of 4/4: four clicks that end a beat before the line, the first accented', () => {
    expect(countInClicks(metre(4, 4), frames(96_000), bars(1))).toEqual([
      { at: -96_000, accent: 'bar' },
      { at: -72_000, accent: 'none' },
      { at: -48_000, accent: 'none' },
      { at: -24_000, accent: 'none' },
    ]);
  });

  test('6/8 is counted in two, the first of each bar accented', () => {
    expect(countInClicks(metre(6, 8), frames(72_000), bars(2))).toEqual([
      { at: -144_000, accent: 'bar' },
      { at: -108_000, accent: 'none' },
      { at: -72_000, accent: 'bar' },
      { at: -36_000, accent: 'none' },
    ]);
  });

  test('7/8 is counted in its uneven beats', () => {
    const clicks = countInClicks(metre(7, 8), frames(70_000), bars(1));
    expect(clicks.map(({ at }) => at)).toEqual([-70_000, -50_000, -30_000]);
  });

  test('5/4 as 3+2 is counted in five with the fourth accented inside the bar', () => {
    const clicks = countInClicks(metre(5, 4, 3, 2), frames(50_000), bars(1));
    expect(clicks.map(({ accent }) => accent)).toEqual(['bar', 'none', 'none', 'group', 'none']);
  });

  test('no bars, no clicks', () => {
    expect(countInClicks(metre(4, 4), frames(96_000), bars(0))).toEqual([]);
  });

  test('falls on the frames of its bars on which the beats of later bars fall', () => {
    fc.assert(
      fc.property(
        anyMetre,
        anyTempo,
        anyRate,
        fc.integer({ min: 1, max: 4 }).map(bars),
        (given, asked, rate, count) => {
          const length = barFrames(given, asked, rate);
          const clicks = countInClicks(given, length, count);
          const offsets = feltBeats(given).map(({ start }) => pulseOffset(start, length, given.num));
          expect(clicks).toHaveLength(count * offsets.length);
          for (const [i, click] of clicks.entries()) {
            expect(click.at + count * length).toBe(
              Math.floor(i / offsets.length) * length + offsets[i % offsets.length]!,
            );
            expect(click.accent === 'bar').toBe(i % offsets.length === 0);
            expect(click.at).toBeLessThan(0);
          }
        },
      ),
    );
  });
});
