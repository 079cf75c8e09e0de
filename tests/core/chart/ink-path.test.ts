import { describe, expect, test } from 'vitest';
import { attacksIn, inkPath } from '../../../src/core/chart/ink-path.js';
import type { Ink } from '../../../src/core/chart/ink.js';
import type { SystemLine } from '../../../src/core/chart/system-layout.js';

const line = (firstBar: number, bars: number): SystemLine => ({
  firstBar,
  bars,
  head: 10,
  barWidth: 100,
  lead: 0,
  width: 10 + bars * 100,
});
const onBeats: Ink = {
  bars: 2,
  strokes: [
    { at: 0, height: 1, decay: 0.2 },
    { at: 0.5, height: 0.5, decay: 0.2 },
  ],
};
const draw = (ink: Ink, on: SystemLine, sectionBars: number): string =>
  inkPath(ink, { line: on, sectionBars, baseline: 50, height: 20 });

/** Where stems stand: each is drawn as an upright from the stave line. */
const stems = (path: string): readonly number[] => [...path.matchAll(/M([\d.]+) 50v-/g)].map(([, x]) => Number(x));

describe('stems', () => {
  test('stand at the onsets of the bars on the line', () => {
    expect(stems(draw(onBeats, line(0, 2), 2))).toEqual([10, 110]);
  });

  test('of a layer shorter than the section stand again each time it goes round', () => {
    expect(stems(draw(onBeats, line(0, 4), 4))).toEqual([10, 110, 210, 310]);
    expect(stems(draw(onBeats, line(0, 3), 3))).toEqual([10, 110, 210]);
  });

  test('of other lines are left to them', () => {
    expect(stems(draw(onBeats, line(1, 1), 2))).toEqual([10]);
  });

  test('are as high as the attack is loud, in the upper half alone', () => {
    const heights = [...draw(onBeats, line(0, 2), 2).matchAll(/ 50v-([\d.]+)h/g)].map(([, y]) => Number(y));
    expect(heights).toEqual([21.5, 11.5]);
    const levels = [...draw(onBeats, line(0, 2), 2).matchAll(/[\d.]+ ([\d.]+)/g)].map(([, y]) => Number(y));
    expect(Math.max(...levels)).toBe(50);
  });
});

describe('decays', () => {
  test('taper from the attack to the stave line', () => {
    const path = draw({ bars: 1, strokes: [{ at: 0, height: 1, decay: 0.5 }] }, line(0, 1), 1);
    expect(path).toContain('M10 50V30C');
    expect(path).toMatch(/58\.5 50V50z$/);
  });

  test('go on from the line above without a stem, lower than they began', () => {
    const across: Ink = { bars: 2, strokes: [{ at: 0.25, height: 1, decay: 0.5 }] };
    const below = draw(across, line(1, 1), 2);
    expect(stems(below)).toEqual([]);
    const [, top] = /^M10 50V([\d.]+)C/.exec(below) ?? [];
    expect(Number(top)).toBeGreaterThan(40);
    expect(Number(top)).toBeLessThan(50);
  });

  test('cut by the end of the line stop at it', () => {
    const across: Ink = { bars: 2, strokes: [{ at: 0.25, height: 1, decay: 0.5 }] };
    const ends = [...draw(across, line(0, 1), 2).matchAll(/ ([\d.]+) [\d.]+V50z/g)].map(([, x]) => Number(x));
    expect(ends).toEqual([110]);
  });
});

test.each([
  ['nothing played', { bars: 2, strokes: [] }],
  ['no bars', { bars: 0, strokes: [{ at: 0, height: 1, decay: 1 }] }],
])('%s draws nothing', (_, ink) => {
  expect(draw(ink, line(0, 2), 2)).toBe('');
  expect(attacksIn(ink, 2)).toBe(0);
});

test('a reader counts the attacks of every time round', () => {
  expect(attacksIn(onBeats, 2)).toBe(2);
  expect(attacksIn(onBeats, 4)).toBe(4);
  expect(attacksIn(onBeats, 3)).toBe(3);
});
