import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { barFrames, steadyGrid } from '../../../src/core/meter/grid.js';
import { beatMask } from '../../../src/core/meter/metres.js';
import { lineForFinish, lineForStart } from '../../../src/core/meter/presses.js';
import type { Stretch, StretchRefusal } from '../../../src/core/meter/stretch.js';
import { buildStretches, endStandstill, type StretchTable } from '../../../src/core/meter/stretches.js';
import { bars, bpm, frames, QuantityError, type SampleRate } from '../../../src/core/units/index.js';
import {
  anyMetre,
  anyRate,
  anyStretches,
  anyTempo,
  CD,
  DOTTED_QUARTER,
  EIGHTH,
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

function build(stretches: readonly Stretch[], rate: SampleRate = STUDIO): StretchTable {
  const built = buildStretches(stretches, rate);
  if (!built.ok) throw new Error(`Refused: ${built.reason}`);
  return built.value;
}

const linesOf = (table: StretchTable, count: number) =>
  Array.from({ length: count + 1 }, (_, bar) => table.lineOf(bars(bar)));
const barOf = (table: StretchTable, bar: number) => table.lineOf(bars(bar + 1)) - table.lineOf(bars(bar));

const anyTable = fc.tuple(anyStretches, anyRate).map(([stretches, rate]) => build(stretches, rate));

describe('one steady stretch', () => {
  test('is the steady grid, before line 0 and behind its last bar too', () => {
    fc.assert(
      fc.property(anyMetre, anyTempo, anyRate, fc.integer({ min: -500, max: 500 }), (given, asked, rate, at) => {
        const length = barFrames(given, asked, rate);
        const grid = steadyGrid({ barFrames: length, pulses: given.num, beats: beatMask(given) });
        const table = build([steady(8, given, asked)], rate);
        const frame = frames(Math.floor((at * length) / 17));
        expect(table.lineOf(bars(at))).toBe(grid.lineOf(bars(at)));
        expect(table.placeOf(frame)).toEqual(grid.placeOf(frame));
        expect(table.beatsOf(bars(at))).toEqual(grid.beatsOf(bars(at)));
      }),
    );
  });

  test('never lets loops of any length drift, however long', () => {
    fc.assert(
      fc.property(
        anyMetre,
        anyTempo,
        anyRate,
        fc.integer({ min: 0, max: 9999 }),
        fc.integer({ min: 1, max: 64 }),
        (given, asked, rate, bar, loop) => {
          const table = build([steady(9999, given, asked)], rate);
          expect(table.lineOf(bars(bar + loop)) - table.lineOf(bars(bar))).toBe(loop * barFrames(given, asked, rate));
        },
      ),
    );
  });
});

describe('a list of stretches', () => {
  test('changes tempo and metre at bar lines', () => {
    const table = build([
      steady(2, metre(4, 4), tempo(120)),
      steady(1, metre(2, 4), tempo(120)),
      steady(2, metre(6, 8), tempo(80, DOTTED_QUARTER)),
      steady(1, metre(7, 8), tempo(210, EIGHTH)),
    ]);
    expect(linesOf(table, 6)).toEqual([0, 96_000, 192_000, 240_000, 312_000, 384_000, 480_000]);
    expect(table.bars).toBe(6);
    expect(table.frames).toBe(480_000);
    expect(table.metreOf(bars(2))).toEqual(metre(2, 4));
    expect(table.metreOf(bars(3))).toEqual(metre(6, 8));
    expect(table.metreOf(bars(6))).toEqual(metre(7, 8));
    expect(table.beatsOf(bars(3))).toEqual([0, 36_000, 72_000]);
    expect(table.pulseFrames(bars(2))).toEqual([192_000, 216_000]);
    expect(table.placeOf(frames(239_999))).toEqual({ bar: 2, pulse: 1, frameInBar: 47_999 });
    expect(table.placeOf(frames(240_000))).toEqual({ bar: 3, pulse: 0, frameInBar: 0 });
  });

  test('goes on for ever in its last steady stretch, and backwards in its first measured one', () => {
    const table = build([
      free(1000),
      gradual(2, metre(3, 4), tempo(60), 120),
      steady(4, metre(4, 4), tempo(120)),
      gradual(2, metre(4, 4), tempo(120), 60),
    ]);
    expect(table.bars).toBe(9);
    const end = table.lineOf(bars(9));
    expect(end).toBe(table.frames);
    expect(table.lineOf(bars(109)) - end).toBe(100 * 96_000);
    expect(table.metreOf(bars(109))).toEqual(metre(4, 4));
    expect(table.lineOf(bars(-2))).toBe(-2 * 144_000);
    expect(table.metreOf(bars(-1))).toEqual(metre(3, 4));
    expect(table.placeOf(frames(-1))).toEqual({ bar: -1, pulse: 2, frameInBar: 143_999 });
  });

  test('takes presses as a grid: the beats are those of the bar that was heard', () => {
    const table = build([steady(1, metre(4, 4), tempo(120)), steady(1, metre(2, 4), tempo(60))]);
    expect(lineForStart(frames(24_000), table)).toBe(0);
    expect(lineForStart(frames(24_001), table)).toBe(1);
    expect(lineForStart(frames(96_000 + 48_000), table)).toBe(1);
    expect(lineForFinish(frames(96_000 + 47_999), table, { fromBar: bars(0) })).toBe(1);
    expect(lineForFinish(frames(96_000 + 48_000), table, { fromBar: bars(0) })).toBe(2);
  });
});

describe('every table', () => {
  const reach = (table: StretchTable, count: number) => bars(Math.floor(count * (table.bars + 6)) - 3);

  test('has strictly rising lines, and pulses that rise strictly from line to line', () => {
    fc.assert(
      fc.property(anyTable, (table) => {
        for (let bar = bars(-3); bar < table.bars + 3; bar = bars(bar + 1)) {
          const rising = [...table.pulseFrames(bar), table.lineOf(bars(bar + 1))];
          expect(rising[0]).toBe(table.lineOf(bar));
          expect(rising).toHaveLength((table.metreOf(bar)?.num ?? 1) + 1);
          for (let i = 1; i < rising.length; i++) expect(rising[i]).toBeGreaterThan(rising[i - 1]!);
        }
      }),
    );
  });

  test('finds every bar and pulse again at its first and its last frame', () => {
    fc.assert(
      fc.property(anyTable, (table) => {
        for (let bar = bars(-3); bar < table.bars + 3; bar = bars(bar + 1)) {
          expect(table.placeOf(table.lineOf(bar))).toEqual({ bar, pulse: 0, frameInBar: 0 });
          const pulses = [...table.pulseFrames(bar), table.lineOf(bars(bar + 1))];
          for (let pulse = 0; pulse + 1 < pulses.length; pulse++) {
            expect(table.placeOf(pulses[pulse]!)).toMatchObject({ bar, pulse });
            expect(table.placeOf(frames(pulses[pulse + 1]! - 1))).toMatchObject({ bar, pulse });
          }
        }
      }),
    );
  });

  test('places every frame so that the frame follows from its place', () => {
    const share = fc.double({ min: 0, max: 1, noNaN: true });
    fc.assert(
      fc.property(anyTable, share, (table, part) => {
        const first = table.lineOf(bars(-3));
        const frame = frames(first + Math.floor(part * (table.lineOf(bars(table.bars + 3)) - first)));
        const { bar, frameInBar } = table.placeOf(frame);
        expect(table.lineOf(bar) + frameInBar).toBe(frame);
        expect(frameInBar).toBeGreaterThanOrEqual(0);
        expect(frameInBar).toBeLessThan(barOf(table, bar));
      }),
    );
  });

  test('is as long as the sum of its bars', () => {
    fc.assert(
      fc.property(anyTable, (table) => {
        let sum = 0;
        for (let bar = 0; bar < table.bars; bar++) sum += barOf(table, bar);
        expect(table.frames).toBe(sum);
      }),
    );
  });

  test('has felt beats from 0 to the length of each bar, each on a pulse', () => {
    const share = fc.double({ min: 0, max: 0.999, noNaN: true });
    fc.assert(
      fc.property(anyTable, share, (table, part) => {
        const bar = reach(table, part);
        const beats = table.beatsOf(bar);
        const pulses = table.pulseFrames(bar).map((frame) => frame - table.lineOf(bar));
        expect(beats[0]).toBe(0);
        expect(beats.at(-1)).toBe(barOf(table, bar));
        expect([...pulses, barOf(table, bar)]).toEqual(expect.arrayContaining([...beats]));
      }),
    );
  });
});

describe('a gradual change of tempo', () => {
  test('lasts as long as the integral of a tempo that changes in a straight line over the bars', () => {
    // ∫₀⁸ 4·60·48000 / (120 − 7.5x) dx = 11,520,000 · ln(2) / 7.5 frames; half-way, at bar 4, the tempo is 90.
    const table = build([gradual(8, metre(4, 4), tempo(120), 60), steady(1, metre(4, 4), tempo(60))]);
    expect(table.lineOf(bars(8))).toBe(Math.round((11_520_000 * Math.LN2) / 7.5));
    expect(table.lineOf(bars(4))).toBe(Math.round((11_520_000 * Math.log(120 / 90)) / 7.5));
  });

  test('agrees with adding up a great many small steps of the tempo', () => {
    const asked = tempo(70, EIGHTH);
    const table = build([gradual(3, metre(7, 8), asked, 200), steady(1, metre(7, 8), asked)], CD);
    const steps = 21_000;
    let time = 0;
    for (let i = 0; i < steps; i++) {
      if (i % 1000 === 0) {
        const pulse = i / 1000;
        const bar = Math.floor(pulse / 7);
        expect(Math.abs(table.pulseFrames(bars(bar))[pulse % 7]! - time)).toBeLessThan(0.51);
      }
      const value = 70 + (130 * (i + 0.5)) / steps;
      time += (60 * CD) / value / 1000;
    }
    expect(Math.abs(table.lineOf(bars(3)) - time)).toBeLessThan(0.51);
  });

  test.each([
    ['rit.', 120, 60],
    ['accel.', 60, 120],
  ])('%s: every pulse is longer or shorter than the one before, through bar lines too', (_, from, to) => {
    const table = build([gradual(4, metre(4, 4), tempo(from), to), steady(1, metre(4, 4), tempo(to))]);
    const pulses = [0, 1, 2, 3].flatMap((bar) => [...table.pulseFrames(bars(bar))]);
    const lengths = [...pulses, table.lineOf(bars(4))].slice(1).map((frame, i) => frame - pulses[i]!);
    const falling = from < to;
    for (let i = 1; i < lengths.length; i++) expect(lengths[i]! < lengths[i - 1]!).toBe(falling);
    expect(Math.abs(lengths[0]! / ((60 * STUDIO) / from) - 1)).toBeLessThan(0.04);
    expect(Math.abs(lengths.at(-1)! / ((60 * STUDIO) / to) - 1)).toBeLessThan(0.04);
  });

  test('a rit. and the accel. that mirrors it last equally long', () => {
    const slower = build([gradual(6, metre(6, 8), tempo(90, DOTTED_QUARTER), 50), steady(1, metre(6, 8), tempo(50))]);
    const faster = build([gradual(6, metre(6, 8), tempo(50, DOTTED_QUARTER), 90), steady(1, metre(6, 8), tempo(50))]);
    expect(Math.abs(slower.lineOf(bars(6)) - faster.lineOf(bars(6)))).toBeLessThanOrEqual(1);
  });

  test('to the same tempo is a steady stretch, each line rounded', () => {
    const table = build([gradual(8, metre(4, 4), tempo(137), 137), steady(1, metre(4, 4), tempo(137))], CD);
    for (let bar = 0; bar <= 8; bar++) {
      expect(table.lineOf(bars(bar))).toBe(Math.round((bar * 4 * 60 * 44_100) / 137));
    }
  });

  test('to almost the same tempo stays as exact', () => {
    const near = build([gradual(8, metre(4, 4), tempo(120), 120 + 1e-9), steady(1, metre(4, 4), tempo(120))]);
    expect(linesOf(near, 8)).toEqual(Array.from({ length: 9 }, (_, bar) => bar * 96_000));
  });
});

describe('a fermata', () => {
  test('makes its beat longer and moves everything behind it, nothing before it', () => {
    const table = build([steady(3, metre(4, 4), tempo(120), holdBeats(1, 2, 2))]);
    expect(linesOf(table, 3)).toEqual([0, 96_000, 240_000, 336_000]);
    expect(table.pulseFrames(bars(1))).toEqual([96_000, 120_000, 144_000, 216_000]);
    expect(table.beatsOf(bars(1))).toEqual([0, 24_000, 48_000, 120_000, 144_000]);
    expect(table.lineOf(bars(4))).toBe(432_000);
    expect(barOf(table, 3)).toBe(96_000);
  });

  test('on the last beat moves the next line', () => {
    const table = build([steady(1, metre(3, 4), tempo(60), holdBeats(0, 2, 1.5))]);
    expect(table.frames).toBe(3 * 48_000 + 72_000);
  });

  test('counts in the length of the felt beat that it holds; its pulses keep their pace', () => {
    const table = build([steady(1, metre(7, 8), tempo(240, EIGHTH), holdBeats(0, 2, 1))]);
    expect(table.pulseFrames(bars(0))).toEqual([0, 1, 2, 3, 4, 5, 6].map((pulse) => pulse * 12_000));
    expect(table.frames).toBe(7 * 12_000 + 3 * 12_000);
  });

  test('may stand more than once in a bar, in any order of the list, and within a rit.', () => {
    const holds = [holdBeats(1, 3, 1), holdBeats(0, 0, 1), holdBeats(1, 1, 2)];
    const table = build([steady(2, metre(4, 4), tempo(120), ...holds)]);
    expect(linesOf(table, 2)).toEqual([0, 120_000, 288_000]);

    const plain = build([gradual(2, metre(4, 4), tempo(120), 60), steady(1, metre(4, 4), tempo(60))]);
    const held = build([
      gradual(2, metre(4, 4), tempo(120), 60, hold(1, 3, { type: 'frames', frames: frames(1000) })),
      steady(1, metre(4, 4), tempo(60)),
    ]);
    expect(held.pulseFrames(bars(1))).toEqual(plain.pulseFrames(bars(1)));
    expect(held.lineOf(bars(2)) - plain.lineOf(bars(2))).toBe(1000);
  });
});

describe('free time', () => {
  test('is one bar as long as it was recorded, without metre', () => {
    const table = build([steady(1, metre(4, 4), tempo(120)), free(123_457), steady(1, metre(4, 4), tempo(120))]);
    expect(linesOf(table, 3)).toEqual([0, 96_000, 219_457, 315_457]);
    expect(table.metreOf(bars(1))).toBeNull();
    expect(table.pulseFrames(bars(1))).toEqual([96_000]);
    expect(table.beatsOf(bars(1))).toEqual([0, 123_457]);
    expect(table.placeOf(frames(219_456))).toEqual({ bar: 1, pulse: 0, frameInBar: 123_456 });
  });
});

describe('a standstill until a press', () => {
  const list = [steady(2, metre(4, 4), tempo(120), untilPressed(1, 1)), free(null), steady(2, metre(4, 4), tempo(120))];

  test('leaves everything behind it without a place', () => {
    const table = build(list);
    expect(table.frames).toBeNull();
    expect(table.bars).toBe(5);
    expect(table.standstill).toEqual({ bar: 1, from: 96_000 + 48_000 });
    expect(table.lineOf(bars(1))).toBe(96_000);
    expect(table.pulseFrames(bars(1))).toEqual([96_000, 120_000]);
    expect(table.beatsOf(bars(1))).toEqual([0, 24_000]);
    expect(table.placeOf(frames(1e12))).toEqual({ bar: 1, pulse: 1, frameInBar: 1e12 - 96_000 });
    expect(() => table.lineOf(bars(2))).toThrow(QuantityError);
    expect(() => table.pulseFrames(bars(2))).toThrow(QuantityError);
  });

  test('ended by presses one after the other becomes lengths like any other', () => {
    const first = endStandstill(build(list), frames(200_000));
    expect(first.pulseFrames(bars(1))).toEqual([96_000, 120_000, 200_000, 224_000]);
    expect(first.standstill).toEqual({ bar: 2, from: 248_000 });
    expect(first.placeOf(frames(1e9))).toEqual({ bar: 2, pulse: 0, frameInBar: 1e9 - 248_000 });

    const second = endStandstill(first, frames(300_001));
    expect(second.standstill).toBeNull();
    expect(second.metreOf(bars(2))).toBeNull();
    expect(linesOf(second, 5)).toEqual([0, 96_000, 248_000, 300_001, 396_001, 492_001]);
    expect(second.frames).toBe(492_001);
    expect(build(second.stretches).frames).toBe(second.frames);
  });

  test('is over at once where the press came before it began', () => {
    const first = endStandstill(build(list), frames(100));
    expect(first.standstill).toEqual({ bar: 2, from: 192_000 });
    expect(endStandstill(first, frames(100)).lineOf(bars(3))).toBe(192_001);
  });

  test('with an earlier hold in its bar begins later', () => {
    const table = build([steady(1, metre(4, 4), tempo(120), untilPressed(0, 2), holdBeats(0, 0, 1))]);
    expect(table.standstill).toEqual({ bar: 0, from: 96_000 });
  });

  test('the earlier of two in a bar comes first', () => {
    const table = build([steady(1, metre(4, 4), tempo(120), untilPressed(0, 2), untilPressed(0, 0))]);
    expect(table.standstill).toEqual({ bar: 0, from: 24_000 });
    const next = endStandstill(table, frames(30_000));
    expect(next.pulseFrames(bars(0))).toEqual([0, 30_000, 54_000]);
    expect(next.standstill).toEqual({ bar: 0, from: 78_000 });
  });

  test('the earlier of two in a stretch comes first', () => {
    const table = build([steady(4, metre(4, 4), tempo(120), untilPressed(3, 0), untilPressed(1, 0))]);
    expect(table.standstill).toEqual({ bar: 1, from: 120_000 });
    expect(endStandstill(table, frames(120_000)).standstill).toEqual({ bar: 3, from: 3 * 96_000 + 24_000 });
  });

  test('a table without one is not changed by ending it', () => {
    const table = build([steady(1, metre(4, 4), tempo(120))]);
    expect(endStandstill(table, frames(5))).toBe(table);
  });
});

describe('buildStretches', () => {
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
    expect(buildStretches(stretches, STUDIO)).toEqual({ ok: false, reason });
  });

  test('does not change the list that it was given, nor follow later changes of it', () => {
    const list: Stretch[] = [steady(2, metre(4, 4), tempo(120))];
    const table = build(list);
    list.push(steady(1, metre(2, 4), { bpm: bpm(60), mark: EIGHTH }));
    expect(table.bars).toBe(2);
    expect(table.metreOf(bars(2))).toEqual(metre(4, 4));
    expect(table.stretches).toHaveLength(1);
  });
});
