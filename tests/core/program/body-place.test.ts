import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { bodyPlace } from '../../../src/core/program/body-place.js';
import { bars, frames } from '../../../src/core/units/index.js';
import { gridOfBars } from './given.js';

/** Frames from line 0 to a bar line, added up bar by bar; for any bar from 0 on. */
function lineIn(lengths: readonly number[], bar: number): number {
  let sum = 0;
  for (let each = 0; each < bar; each++) sum += lengths[each % lengths.length]!;
  return sum;
}

/** A body that was played over bars [startBar, startBar + count) of a loop of those lengths. */
const playedOver = (lengths: readonly number[], startBar: number, count: number) => ({
  startBar: bars(startBar),
  bars: bars(count),
  bodyFrames: frames(lineIn(lengths, startBar + count) - lineIn(lengths, startBar)),
});

const anyLengths = fc.array(fc.constantFrom(1000, 1500, 777), { minLength: 1, maxLength: 8 });
const anyPlayed = fc.record({
  lengths: anyLengths,
  startBar: fc.nat({ max: 30 }),
  count: fc.integer({ min: 1, max: 20 }),
});

describe('a body over the bars of a looped section', () => {
  test('begins at the line at which it was played, and under way at line 0', () => {
    fc.assert(
      fc.property(anyPlayed, ({ lengths, startBar, count }) => {
        const { start, period } = bodyPlace(gridOfBars(lengths), playedOver(lengths, startBar, count));
        expect(start).toBeLessThanOrEqual(0);
        expect((lineIn(lengths, startBar) - start) % period).toBe(0);
        // Nothing is left out before the top: an iteration more would be over when playing starts.
        expect(start + period).toBeGreaterThan(0);
      }),
    );
  });

  test('always begins and ends at bar lines that lie as they lay when it was played', () => {
    fc.assert(
      fc.property(anyPlayed, fc.nat({ max: 200 }), ({ lengths, startBar, count }, round) => {
        const body = playedOver(lengths, startBar, count);
        const place = bodyPlace(gridOfBars(lengths), body);
        const bar = startBar + round * place.bars;
        const begins = lineIn(lengths, startBar) + round * place.period;
        expect(begins).toBe(lineIn(lengths, bar));
        expect(begins + body.bodyFrames).toBe(lineIn(lengths, bar + count));
      }),
    );
  });

  test('never comes again before it has ended', () => {
    fc.assert(
      fc.property(anyPlayed, ({ lengths, startBar, count }) => {
        const body = playedOver(lengths, startBar, count);
        expect(bodyPlace(gridOfBars(lengths), body).period).toBeGreaterThanOrEqual(body.bodyFrames);
      }),
    );
  });

  test('comes again at once in equal bars, whatever its length and wherever it began', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 8 }),
        fc.nat({ max: 30 }),
        fc.integer({ min: 1, max: 20 }),
        (size, at, n) => {
          const lengths = Array.from({ length: size }, () => 1000);
          const place = bodyPlace(gridOfBars(lengths), playedOver(lengths, at, n));
          expect(place).toEqual({ start: at % n === 0 ? 0 : (at % n) * 1000 - n * 1000, period: n * 1000, bars: n });
        },
      ),
    );
  });

  const rit = [1000, 1000, 1000, 1400];
  test.each([
    ['the whole of a section with a rit.', rit, 0, 4, { start: 0, period: 4400, bars: 4 }],
    ['the whole of it from its third bar on', rit, 2, 4, { start: 2000 - 4400, period: 4400, bars: 4 }],
    ['two rounds of it', rit, 4, 8, { start: 4400 - 8800, period: 8800, bars: 8 }],
    ['a bar of it, once a round', rit, 1, 1, { start: 1000 - 4400, period: 4400, bars: 4 }],
    ['its long bar, once a round', rit, 3, 1, { start: 3000 - 4400, period: 4400, bars: 4 }],
    ['half of it, once a round', rit, 2, 2, { start: 2000 - 4400, period: 4400, bars: 4 }],
    ['six bars of it, every other round', rit, 0, 6, { start: 0, period: 8800, bars: 8 }],
    ['two bars that are alike twice a round', [900, 1000, 900, 1000], 0, 2, { start: 0, period: 1900, bars: 2 }],
    ['the same from the second on', [900, 1000, 900, 1000], 1, 2, { start: 900 - 1900, period: 1900, bars: 2 }],
  ])('%s', (_, lengths, startBar, count, expected) => {
    expect(bodyPlace(gridOfBars(lengths), playedOver(lengths, startBar, count))).toEqual(expected);
  });

  test('that has other bars than the section is held to the lines all the same', () => {
    const odd = { startBar: bars(0), bars: bars(2), bodyFrames: frames(2003) };
    expect(bodyPlace(gridOfBars([1000]), odd)).toEqual({ start: 0, period: 2000, bars: 2 });
  });
});
