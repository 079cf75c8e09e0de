import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { checkStretches, type Stretch, type StretchRefusal } from '../../../src/core/meter/stretch.js';
import { frames } from '../../../src/core/units/index.js';
import {
  anyRate,
  anyStretches,
  free,
  gradual,
  hold,
  holdBeats,
  metre,
  steady,
  STUDIO,
  tempo,
  untilPressed,
} from './given.js';

describe('checkStretches', () => {
  const bar = steady(4, metre(4, 4), tempo(120));
  test.each<[string, readonly Stretch[], StretchRefusal]>([
    ['no stretches', [], 'nothing-steady'],
    ['free time alone', [free(100)], 'nothing-steady'],
    ['a rit. alone', [gradual(2, metre(4, 4), tempo(120), 60)], 'nothing-steady'],
    ['a stretch of no bars', [bar, steady(0, metre(4, 4), tempo(120))], 'bars-out-of-range'],
    ['more than 9999 bars', [steady(10_000, metre(4, 4), tempo(120))], 'bars-out-of-range'],
    ['free time of no frames', [bar, free(0)], 'bars-out-of-range'],
    ['a metre whose groups do not fill it', [steady(1, metre(4, 4, 3), tempo(120))], 'metre-out-of-range'],
    ['pulses shorter than a frame', [steady(1, metre(4, 4), tempo(3e6))], 'tempo-out-of-range'],
    ['an accel. to such pulses', [bar, gradual(1, metre(4, 4), tempo(120), 3e6)], 'tempo-out-of-range'],
    ['a bar longer than an hour', [steady(1, metre(4, 4), tempo(0.06))], 'tempo-out-of-range'],
    ['a hold behind the last bar', [steady(4, metre(4, 4), tempo(120), holdBeats(4, 0, 1))], 'hold-out-of-range'],
    ['a hold before the first bar', [steady(4, metre(4, 4), tempo(120), holdBeats(-1, 0, 1))], 'hold-out-of-range'],
    [
      'a hold on a beat the metre has not',
      [steady(4, metre(6, 8), tempo(120), holdBeats(0, 2, 1))],
      'hold-out-of-range',
    ],
    ['a hold between beats', [steady(4, metre(4, 4), tempo(120), holdBeats(0, 0.5, 1))], 'hold-out-of-range'],
    ['a hold that shortens', [steady(4, metre(4, 4), tempo(120), holdBeats(0, 0, -1))], 'hold-out-of-range'],
    ['a hold of no number', [steady(4, metre(4, 4), tempo(120), holdBeats(0, 0, Number.NaN))], 'hold-out-of-range'],
    [
      'a hold of fewer than no frames',
      [steady(4, metre(4, 4), tempo(120), hold(0, 0, { type: 'frames', frames: frames(-1) }))],
      'hold-out-of-range',
    ],
    [
      'two holds on one beat',
      [steady(4, metre(4, 4), tempo(120), holdBeats(1, 1, 1), untilPressed(1, 1))],
      'hold-out-of-range',
    ],
  ])('refuses %s', (_, stretches, reason) => {
    expect(checkStretches(stretches, STUDIO)).toEqual({ ok: false, reason });
  });

  test('passes any list of good stretches as it is', () => {
    fc.assert(
      fc.property(anyStretches, anyRate, (list, rate) => {
        expect(checkStretches(list, rate)).toEqual({ ok: true, value: list });
      }),
    );
  });
});
