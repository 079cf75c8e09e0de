import { describe, expect, test } from 'vitest';
import { endShift, movesOf } from '../../../src/core/song/moves.js';
import type { Alignment } from '../../../src/core/song/song.js';
import { bars, frames } from '../../../src/core/units/index.js';

const takeOf = (length: number, ...entries: readonly (readonly [number, number])[]) => ({
  bars: bars(length),
  alignment: entries.map(([bar, trip], index): Alignment => ({
    fromBar: bars(bar),
    roundTrip: frames(trip),
    how: index === 0 ? 'measured' : 'estimated',
    sure: index === 0,
  })),
});

describe('where the audio of a take jumps', () => {
  test.each<[string, ReturnType<typeof takeOf>, readonly (readonly [number, number])[]]>([
    ['nowhere, of one round trip', takeOf(4, [0, 4928]), [[0, 0]]],
    [
      'where another round trip held',
      takeOf(4, [0, 4928], [2, 5000]),
      [
        [0, 0],
        [2, 72],
      ],
    ],
    [
      'there and back',
      takeOf(8, [0, 100], [3, 40], [5, 100]),
      [
        [0, 0],
        [3, -60],
        [5, 0],
      ],
    ],
    ['nowhere, where the same is only less sure', takeOf(4, [0, 4928], [2, 4928]), [[0, 0]]],
    [
      'once, where what held from there on is told twice',
      takeOf(4, [0, 10], [1, 30], [2, 30]),
      [
        [0, 0],
        [1, 20],
      ],
    ],
    [
      'not behind its last bar',
      takeOf(4, [0, 10], [3, 30], [4, 50]),
      [
        [0, 0],
        [3, 20],
      ],
    ],
    ['nowhere, of nothing known', takeOf(4), [[0, 0]]],
  ])('is %s', (_, take, expected) => {
    expect(movesOf(take).map(({ fromBar, shift }) => [fromBar, shift])).toEqual(expected);
    expect(endShift(take)).toBe(expected.at(-1)?.[1]);
  });
});
