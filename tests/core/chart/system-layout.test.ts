import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { layOut, placeOf, xOf } from '../../../src/core/chart/system-layout.js';

const room = { width: 860, firstHead: 60, laterHead: 4, leastBar: 165, lead: 8 };
const wrapped = (bars: number, width = room.width): string =>
  layOut({ ...room, bars, width })
    .map((line) => String(line.bars))
    .join('+');

describe('wrapping', () => {
  test.each([
    [1, 860, '1'],
    [2, 860, '2'],
    [3, 860, '3'],
    [4, 860, '4'],
    [5, 860, '4+1'],
    [6, 860, '4+2'],
    [16, 860, '4+4+4+4'],
    [64, 860, Array(16).fill('4').join('+')],
    [6, 1500, '6'],
    [8, 1500, '8'],
    [12, 1500, '8+4'],
    [4, 400, '2+2'],
    [3, 250, '1+1+1'],
    [2, 50, '1+1'],
  ])('puts %d bars in a room of %d on lines of %s', (bars, width, expected) => {
    expect(wrapped(bars, width)).toBe(expected);
  });

  test('keeps every bar once and in order', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 64 }), fc.integer({ min: 60, max: 3000 }), (bars, width) => {
        const lines = layOut({ ...room, bars, width });
        const numbers = lines.flatMap((line) => Array.from({ length: line.bars }, (_, i) => line.firstBar + i));
        expect(numbers).toEqual(Array.from({ length: bars }, (_, i) => i));
      }),
    );
  });

  test('fills the room with every line but a shorter last one, which keeps the width of bars', () => {
    const [first, second, last] = layOut({ ...room, bars: 10 });
    expect([first!.width, second!.width]).toEqual([860, 860]);
    expect(last!.barWidth).toBe(second!.barWidth);
    expect(last!.width).toBe(4 + 2 * last!.barWidth);
  });
});

describe('places', () => {
  const lines = layOut({ ...room, bars: 8 });

  test('are on the line of their bar, the first beat a little after the bar line', () => {
    expect(placeOf(lines, 0, 0)).toEqual({ line: 0, x: 68 });
    expect(placeOf(lines, 4, 0)).toEqual({ line: 1, x: 12 });
    expect(placeOf(lines, 1, 0.5)).toEqual({ line: 0, x: 60 + 200 + 8 + 96 });
  });

  test('run forward through a bar and never reach the next bar line', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 7 }), fc.double({ min: 0, max: 1, noNaN: true }), (bar, phase) => {
        const { line, x } = placeOf(lines, bar, phase)!;
        const from = lines[line]!.head + (bar - lines[line]!.firstBar) * lines[line]!.barWidth;
        expect(x).toBeGreaterThanOrEqual(from + 8);
        expect(x).toBeLessThan(from + lines[line]!.barWidth);
      }),
    );
  });

  test('there are none beyond the last bar', () => {
    expect(placeOf(lines, 8, 0)).toBeNull();
    expect(placeOf(lines, -1, 0.5)).toBeNull();
  });

  test('of moments agree with those of bars', () => {
    expect(xOf(lines[0]!, 1.5)).toBe(placeOf(lines, 1, 0.5)?.x);
  });
});
