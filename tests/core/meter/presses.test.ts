import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Grid } from '../../../src/core/meter/grid.js';
import type { Metre } from '../../../src/core/meter/metre.js';
import {
  isRepeatPress,
  lineForChange,
  lineForFinish,
  lineForStart,
  lineNotBefore,
  PRESS_RULES,
  pressRulesRefusal,
  type PressRuleRefusal,
  type PressRules,
} from '../../../src/core/meter/presses.js';
import { bars, frames, milliseconds, type Frames } from '../../../src/core/units/index.js';
import { CD, evenBars, metre, STUDIO } from './given.js';

/** Bars of 1000 frames a pulse, so that a position reads as pulses. */
const gridOf = (given: Metre): Grid => evenBars(given, 1000 * given.num);
const fourFour = gridOf(metre(4, 4));
const anyHeard = fc.integer({ min: -1_000_000, max: 1_000_000 }).map(frames);
const distance = (bar: number, heard: Frames) => Math.abs(bar * 4000 - heard);

describe('lineForStart', () => {
  test.each([
    [0, 0],
    [1, 0],
    [1000, 0],
    [1001, 1],
    [3999, 1],
    [4000, 1],
    [5000, 1],
    [5001, 2],
    [-1, 0],
    [-3000, -1],
  ])('in 4/4 with a grace of one beat, %i thousandths of a beat mean line %i', (heard, line) => {
    expect(lineForStart(frames(heard), fourFour)).toBe(line);
  });

  test.each([
    [0, 0, 0],
    [0, 1, 1],
    [0.5, 500, 0],
    [0.5, 501, 1],
    [2, 2000, 0],
    [2, 2001, 1],
    [9, 3500, 0],
    [9, 3501, 1],
    [-1, 0, 0],
    [-1, 1, 1],
  ])('with a grace of %f beats, %i means line %i', (graceBeats, heard, line) => {
    expect(lineForStart(frames(heard), fourFour, graceBeats)).toBe(line);
  });

  test.each<[string, Metre, number]>([
    ['6/8: three eighths', metre(6, 8), 3000],
    ['7/8 as 2+2+3: two eighths', metre(7, 8), 2000],
    ['7/8 as 3+2+2: three eighths', metre(7, 8, 3, 2, 2), 3000],
    ['5/8 as 3+2: three eighths', metre(5, 8, 3, 2), 3000],
    ['5/4 as 3+2: a quarter', metre(5, 4, 3, 2), 1000],
    ['a waltz in one: half the bar, since later is early for the next', metre(3, 4, 3), 1500],
  ])('the beat is the felt one: %s', (_, given, latest) => {
    const grid = gridOf(given);
    expect(lineForStart(frames(latest), grid)).toBe(0);
    expect(lineForStart(frames(latest + 1), grid)).toBe(1);
  });

  test('means a line at most a grace back and at most a bar ahead', () => {
    fc.assert(
      fc.property(anyHeard, (heard) => {
        const ahead = lineForStart(heard, fourFour) * 4000 - heard;
        expect(ahead).toBeGreaterThanOrEqual(-1000);
        expect(ahead).toBeLessThan(3000);
      }),
    );
  });
});

describe('lineForFinish', () => {
  const finish = (heard: number, from: number) => lineForFinish(frames(heard), fourFour, { fromBar: bars(from) });

  test.each([
    [4000, 1],
    [5999, 1],
    [6000, 2],
    [6001, 2],
    [7999, 2],
    [8000, 2],
    [8300, 2],
  ])(
    'a pass from line 0 that is ended at %i closes at line %i: the nearest, the middle early for the next',
    (heard, line) => {
      expect(finish(heard, 0)).toBe(line);
    },
  );

  test.each([
    [0, 0, 1],
    [100, 0, 1],
    [1999, 0, 1],
    [12_100, 3, 4],
    [11_900, 3, 4],
    [-500, 0, 1],
  ])('ended at %i, a pass from line %i lasts at least to line %i', (heard, from, line) => {
    expect(finish(heard, from)).toBe(line);
  });

  test('closes at the nearest line wherever that leaves a bar', () => {
    fc.assert(
      fc.property(anyHeard, fc.integer({ min: -300, max: 300 }), (heard, from) => {
        const line = finish(heard, from);
        expect(line).toBeGreaterThan(from);
        if (line > from + 1) expect(distance(line, heard)).toBeLessThanOrEqual(2000);
        else expect(distance(line, heard)).toBeLessThanOrEqual(distance(line + 1, heard));
      }),
    );
  });
});

describe('lineForChange', () => {
  test.each([
    [0, 0],
    [1999, 0],
    [2000, 1],
    [3999, 1],
    [4000, 1],
    [-2000, 0],
    [-2001, -1],
  ])('%i means line %i: up to half a bar before it counts', (heard, line) => {
    expect(lineForChange(frames(heard), fourFour)).toBe(line);
  });

  test('in a bar of an odd number of frames its middle lies between two frames', () => {
    const grid = evenBars(metre(4, 4), 9);
    expect(lineForChange(frames(4), grid)).toBe(0);
    expect(lineForChange(frames(5), grid)).toBe(1);
  });
});

describe('lineNotBefore', () => {
  test.each([
    [0, 0],
    [1, 1],
    [4000, 1],
    [4001, 2],
    [-1, 0],
    [-4000, -1],
  ])('of frame %i is line %i', (frame, line) => {
    expect(lineNotBefore(frames(frame), fourFour)).toBe(line);
  });
});

describe('isRepeatPress', () => {
  test('the first press is never a repeat', () => {
    expect(isRepeatPress(null, frames(0), STUDIO)).toBe(false);
  });

  test('a press within 300 ms of the last is one, on that frame it is not', () => {
    expect(PRESS_RULES.guard).toBe(300);
    for (const [rate, guard] of [
      [CD, 13_230],
      [STUDIO, 14_400],
    ] as const) {
      expect(isRepeatPress(frames(1000), frames(1000 + guard - 1), rate)).toBe(true);
      expect(isRepeatPress(frames(1000), frames(1000 + guard), rate)).toBe(false);
    }
  });

  test('a press whose stamp arrives out of order is measured by its distance', () => {
    expect(isRepeatPress(frames(1000), frames(900), STUDIO)).toBe(true);
    expect(isRepeatPress(frames(20_000), frames(900), STUDIO)).toBe(false);
  });

  test('the guard can be set, and set to nothing', () => {
    expect(isRepeatPress(frames(0), frames(4799), STUDIO, milliseconds(100))).toBe(true);
    expect(isRepeatPress(frames(0), frames(4800), STUDIO, milliseconds(100))).toBe(false);
    expect(isRepeatPress(frames(0), frames(0), STUDIO, milliseconds(0))).toBe(false);
  });
});

describe('the rules of presses', () => {
  const rules = (guard: number, graceBeats: number): PressRules => ({ guard: milliseconds(guard), graceBeats });

  test('ignore a second press for 300 ms and give a beat of grace, unless the player says otherwise', () => {
    expect(PRESS_RULES).toEqual({ guard: 300, graceBeats: 1 });
    expect(pressRulesRefusal(PRESS_RULES)).toBeNull();
  });

  test.each([
    [0, 0],
    [2000, 4],
    [37.5, 0.5],
  ])('may be a guard of %f ms and a grace of %f beats', (guard, graceBeats) => {
    expect(pressRulesRefusal(rules(guard, graceBeats))).toBeNull();
  });

  test.each<[PressRuleRefusal, number, number]>([
    ['guard-out-of-range', -1, 1],
    ['guard-out-of-range', 2001, 1],
    ['grace-out-of-range', 300, -0.5],
    ['grace-out-of-range', 300, 4.5],
    ['grace-out-of-range', 300, Number.NaN],
  ])('are refused as %s: %f ms, %f beats', (refusal, guard, graceBeats) => {
    expect(pressRulesRefusal(rules(guard, graceBeats))).toBe(refusal);
  });
});
