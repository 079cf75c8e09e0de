import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { bars, frames } from '../../../src/core/units/index.js';
import { adviceFor, adviceNow } from '../../../src/core/watch/advice.js';
import { alignmentsOf, type BarTrip, type PassAlignments } from '../../../src/core/watch/alignments.js';
import { realignFrom, RealignError } from '../../../src/core/watch/realign.js';
import type { BaseTrip } from '../../../src/core/watch/trips.js';
import { PlainClocks, type PlainGap, RATE, ROUND_TRIP } from '../../support/plain-clocks.js';

const BAR = 2 * RATE;
const BASE: BaseTrip = { roundTrip: frames(ROUND_TRIP), how: 'measured', sure: true, at: frames(16 * RATE) };

/** Bars of two seconds, the first beginning at 20 s of the mix. */
const passOf = (clocks: PlainClocks, count: number, base = BASE): PassAlignments =>
  alignmentsOf(
    Array.from({ length: count + 1 }, (_, bar) => frames(20 * RATE + bar * BAR + base.roundTrip)),
    base,
    clocks.watch.history(),
  );

/** As a row: bar, round trip beyond the base, sure, within. */
const rowsOf = ({
  alignments,
}: Pick<PassAlignments, 'alignments'>): readonly (readonly [number, number, boolean, number])[] =>
  alignments.map(({ fromBar, roundTrip, sure, within }) => [fromBar, roundTrip - ROUND_TRIP, sure, within]);

/** In the third bar. */
const GAP: PlainGap = { endsMs: 25_000, pauseMs: 40, frames: 1000 };
const APART: PlainGap = { ...GAP, byCalls: 0 };
const run = (...gaps: readonly PlainGap[]): PlainClocks => new PlainClocks(gaps).measure(16).runTo(40_000);

describe('a pass', () => {
  test('in which nothing happened has the round trip that was measured', () => {
    expect(rowsOf(passOf(run(), 8))).toEqual([[0, 0, true, 0]]);
    expect(passOf(run(), 8).marks).toEqual([]);
  });

  test('with a gap that was read: the bar is unsure, the next ones are repaired, and the place is marked', () => {
    const pass = passOf(run(GAP), 8);
    expect(rowsOf(pass)).toEqual([
      [0, 0, true, 0],
      [2, 0, false, 0],
      [3, 1000, true, 24],
    ]);
    expect(pass.marks).toEqual([
      { bar: 2, lastBar: 2, duringPass: true, kind: 'output-gap', shift: 1000, how: 'read', within: 24 },
    ]);
  });

  test('with a gap that was not read is unsure from that bar on', () => {
    const pass = passOf(run(APART), 8);
    expect(rowsOf(pass)).toEqual([
      [0, 0, true, 0],
      [2, 0, false, 0],
    ]);
    expect(pass.marks).toMatchObject([{ bar: 2, kind: 'estimates-apart', shift: null, how: 'unknown' }]);
  });

  test('is exact behind such a gap once a check has said how far it moved, and the place stays marked', () => {
    const pass = passOf(run(APART).measure(41, ROUND_TRIP + 1003), 8);
    expect(rowsOf(pass)).toEqual([
      [0, 0, true, 0],
      [2, 0, false, 0],
      [3, 1003, true, 0],
    ]);
    expect(pass.marks).toMatchObject([{ bar: 2, kind: 'estimates-apart', shift: 1003, how: 'exact' }]);
  });

  test('is unsure between two such gaps only, once a check has been made after them', () => {
    const pass = passOf(run(APART, { ...APART, endsMs: 31_000 }).measure(41, ROUND_TRIP + 2100), 8);
    expect(rowsOf(pass)).toEqual([
      [0, 0, true, 0],
      [2, 0, false, 0],
      [6, 2100, true, 0],
    ]);
  });

  test('that a step at its very line touches is unsure in both bars', () => {
    const atLine = { ...GAP, endsMs: 26_025 };
    expect(rowsOf(passOf(run(atLine), 8)).map(([bar, , sure]) => [bar, sure])).toEqual([
      [0, true],
      [2, false],
      [4, true],
    ]);
  });

  test('goes on over a pause that moved nothing, good to half a millisecond', () => {
    const pass = passOf(run({ ...GAP, frames: 0 }), 8);
    expect(rowsOf(pass)).toEqual([
      [0, 0, true, 0],
      [2, 0, true, 24],
    ]);
    expect(pass.marks).toMatchObject([{ bar: 2, kind: 'bridged', shift: 0 }]);
  });

  test('that follows something unknown is unsure from its first bar, and says why', () => {
    const pass = passOf(run({ ...APART, endsMs: 18_500 }), 2);
    expect(rowsOf(pass)).toEqual([[0, 0, false, 0]]);
    expect(pass.marks).toMatchObject([{ bar: 0, duringPass: false, kind: 'estimates-apart' }]);
  });

  test('is as sure as its base where nothing was measured in this opening', () => {
    const clocks = new PlainClocks().runTo(40_000);
    const stated = { ...BASE, how: 'stated', at: null } as const;
    expect(passOf(clocks, 2, stated).alignments).toMatchObject([{ how: 'stated', sure: true }]);
    expect(passOf(clocks, 2, { ...stated, sure: false }).alignments).toMatchObject([{ sure: false }]);
    expect(passOf(clocks, 2, { ...stated, at: frames(RATE) }).alignments).toMatchObject([{ sure: false }]);
  });

  test('takes the round trip of a later measurement instead of an estimate', () => {
    const estimated = { roundTrip: frames(4000), how: 'estimated', sure: false, at: null } as const;
    expect(passOf(run(), 2, estimated).alignments).toEqual([
      { fromBar: 0, roundTrip: ROUND_TRIP, how: 'measured', sure: true, within: 0 },
    ]);
  });

  test('takes a measurement of this opening instead of one that was kept from another', () => {
    const kept = { ...BASE, roundTrip: frames(4200), at: null };
    expect(rowsOf(passOf(run(GAP), 8, kept))).toEqual([
      [0, 0, true, 0],
      [2, 0, false, 0],
      [3, 1000, true, 24],
    ]);
  });

  test('is good to a frame where two measurements differ by one and nothing was seen', () => {
    expect(rowsOf(passOf(run().measure(41, ROUND_TRIP + 1), 2))).toEqual([[0, 1, true, 1]]);
  });

  const ESTIMATED: BaseTrip = { roundTrip: frames(4000), how: 'estimated', sure: false, at: null };
  /** Bars of two seconds from 2 s of the mix on, while the input is still settling. */
  const firstPass = (clocks: PlainClocks, base = ESTIMATED): PassAlignments =>
    alignmentsOf(
      [0, 1, 2].map((bar) => frames(2 * RATE + bar * BAR + base.roundTrip)),
      base,
      clocks.watch.history(),
    );

  test('that is merely not measured is unsure and has no mark, at once after the opening and later', () => {
    const unmeasured = new PlainClocks().runTo(40_000);
    for (const pass of [firstPass(unmeasured), passOf(unmeasured, 2, ESTIMATED)]) {
      expect(pass.alignments.map(({ sure }) => sure)).toEqual([false]);
      expect(pass.marks).toEqual([]);
    }
  });

  test('played at once takes what is measured later, stays unsure, and is marked as played in the opening', () => {
    const pass = firstPass(run());
    expect(rowsOf(pass)).toEqual([[0, 0, false, 0]]);
    expect(pass.marks).toMatchObject([{ bar: 0, kind: 'opening', duringPass: true, shift: null }]);
  });

  test('is not put down to the opening where what came after it cannot be sized', () => {
    const late = { ...APART, endsMs: 36_000 };
    const pass = passOf(new PlainClocks([late]).runTo(40_000).measure(41), 2, ESTIMATED);
    expect(rowsOf(pass).map(([, , sure]) => sure)).toEqual([false]);
    expect(pass.marks).toEqual([]);
  });

  test('is proved by measurements before and after it that agree with what was seen', () => {
    expect(passOf(run(GAP), 8).proved).toBe(false);
    expect(passOf(run(GAP).measure(41, ROUND_TRIP + 1000), 8).proved).toBe(true);
    expect(passOf(run(GAP).measure(41, ROUND_TRIP + 1300), 8).proved).toBe(false);
    expect(passOf(run(APART).measure(41, ROUND_TRIP + 1000), 8).proved).toBe(false);
  });
});

describe('a repair by hand', () => {
  const read = passOf(run(GAP), 8).alignments;

  test('moves the pass from a bar on, later places with it, and is the player’s own', () => {
    const moved = realignFrom(read, bars(1), { shift: frames(-20) });
    expect(rowsOf({ alignments: moved })).toEqual([
      [0, 0, true, 0],
      [1, -20, true, 0],
      [2, -20, true, 0],
      [3, 980, true, 0],
    ]);
    expect(moved.map(({ how }) => how)).toEqual(['measured', 'stated', 'stated', 'stated']);
  });

  test('may give the round trip itself', () => {
    const moved = realignFrom(read, bars(3), { roundTrip: frames(6100) });
    expect(moved.map(({ fromBar, roundTrip }) => [fromBar, roundTrip])).toEqual([
      [0, ROUND_TRIP],
      [2, ROUND_TRIP],
      [3, 6100],
    ]);
  });

  test('there and back gives the same round trips at every bar', () => {
    const tripAt = (list: readonly BarTrip[], bar: number): number | undefined =>
      list.findLast(({ fromBar }) => fromBar <= bar)?.roundTrip;
    fc.assert(
      fc.property(fc.nat(7), fc.integer({ min: -5000, max: 5000 }), (bar, by) => {
        const there = realignFrom(read, bars(bar), { shift: frames(by) });
        const back = realignFrom(there, bars(bar), { shift: frames(-by) });
        for (let each = 0; each < 8; each++) {
          expect(tripAt(back, each)).toBe(tripAt(read, each));
          expect(tripAt(there, each)).toBe((tripAt(read, each) ?? 0) + (each >= bar ? by : 0));
        }
      }),
    );
  });

  test('needs a bar of the pass', () => {
    expect(() => realignFrom(read, bars(-1), { shift: frames(1) })).toThrow(RealignError);
    expect(() => realignFrom([], bars(0), { shift: frames(1) })).toThrow(RealignError);
  });
});

describe('the advice', () => {
  test('for now is to measure where nothing was measured, or the input was opened anew', () => {
    expect(adviceNow(new PlainClocks().watch.history())).toEqual({ type: 'measure-again' });
    expect(adviceNow(run().break('input-reopened', 30).watch.history())).toEqual({ type: 'measure-again' });
  });

  test('for now is a check where something moved that could not be read, or was read too often', () => {
    expect(adviceNow(run(APART).watch.history())).toEqual({ type: 'check-now' });
    expect(adviceNow(run().break('hidden', 30).watch.history())).toEqual({ type: 'check-now' });
    expect(adviceNow(run(GAP, { ...GAP, endsMs: 30_000 }).watch.history())).toEqual({ type: 'check-now' });
  });

  test('for now is nothing where all is well, or one gap was read, or one is being read', () => {
    expect(adviceNow(run().watch.history())).toEqual({ type: 'nothing' });
    expect(adviceNow(run(GAP).watch.history())).toEqual({ type: 'nothing' });
    expect(adviceNow(new PlainClocks([GAP]).measure(16).runTo(26_000).watch.history())).toEqual({ type: 'nothing' });
  });

  const forPass = (clocks: PlainClocks, base = BASE): unknown =>
    adviceFor(passOf(clocks, 8, base), clocks.watch.history());

  test.each<[string, () => PlainClocks, unknown]>([
    ['nothing where it is sure', () => run(), { type: 'nothing' }],
    ['a check where all behind a place is unknown', () => run(APART), { type: 'check-now' }],
    ['the bar where all else is repaired', () => run(GAP), { type: 'retake-from-bar', bar: 2 }],
    [
      'the bar once a check has repaired what is behind it',
      () => run(APART).measure(41, ROUND_TRIP + 990),
      { type: 'retake-from-bar', bar: 2 },
    ],
    ['nothing while a gap is being read', () => new PlainClocks([GAP]).measure(16).runTo(26_000), { type: 'nothing' }],
  ])('for a pass is %s', (_, clocks, advice) => {
    expect(forPass(clocks())).toEqual(advice);
  });

  test('for a pass with an estimated round trip is to measure', () => {
    const estimated = { ...BASE, how: 'estimated', sure: false, at: null } as const;
    expect(forPass(new PlainClocks().runTo(40_000), estimated)).toEqual({ type: 'measure-again' });
  });
});
