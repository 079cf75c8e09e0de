import { describe, expect, test } from 'vitest';
import {
  close,
  keepLayeringTurned,
  lastLineOf,
  longestAt,
  withoutPass,
} from '../../../src/core/transport/going-round.js';
import { LONGEST_PASS } from '../../../src/core/transport/passes.js';
import { Bench, STOPPED, told } from '../../support/situations.js';

const bench = new Bench();
const going = new Bench({}, true);

describe('a pass that has been captured whole leaves the plan', () => {
  test.each([
    // Kept up by the pass that runs now, and by the setting: then it is followed by one more.
    [true, true, 'running 8-12* 12-16*: begin 7'],
    [true, false, 'running 8-12*'],
    [false, true, 'running 8-12'],
    [false, false, 'running 8-12'],
  ])('where the next keeps going: %s, and the setting is on: %s', (keepsGoing, keepLayering, does) => {
    const plan = bench.running(bench.pass(2, 4, 8, true), bench.pass(3, 8, 12, keepsGoing));
    expect(told(withoutPass(plan, 2, { nextPass: 7, keepLayering }))).toBe(does);
  });

  test.each([
    ['the last one', [going.pass(2, 4, 8)], 2, 'running'],
    [
      'one that has two behind it',
      [going.pass(2, 4, 8), going.pass(3, 8, 12), going.pass(4, 12, 16)],
      2,
      'running 8-12* 12-16*',
    ],
    ['one that nobody knows', [going.pass(2, 4, 8), going.pass(3, 8, 12)], 9, 'running 4-8* 8-12*'],
    ['one before an open pass', [going.pass(2, 4, 8), going.pass(3, 8, null)], 2, 'running 8-*'],
  ])('%s', (_, passes, number, does) => {
    expect(told(withoutPass(going.running(...passes), number, { nextPass: 7, keepLayering: true }))).toBe(does);
  });
});

describe('layering that is no longer kept up', () => {
  const off = going.context({ keepLayering: false });

  test.each([
    ['under way', 6, 'running 4-8: drop 3'],
    ['under way in the next pass', 9, 'running 4-8 8-12'],
    ['waiting for the first', 3.9, 'running 4-8: drop 3'],
    ['after both', 12.1, 'running 4-8* 8-12*'],
  ])('%s: what is heard is the last', (_, bar, does) => {
    const plan = going.running(going.pass(2, 4, 8), going.pass(3, 8, 12));
    expect(told(keepLayeringTurned(plan, going.at(bar), off))).toBe(does);
  });

  test('changes nothing where nothing plays', () => {
    expect(keepLayeringTurned(STOPPED, going.at(0), off)).toEqual({ plan: STOPPED, effects: [] });
  });
});

describe('layering that is kept up from now on', () => {
  const on = bench.context({ keepLayering: true });

  test.each([
    ['a pass with its line is followed by another', [bench.pass(2, 4, 8)], 'running 4-8* 8-12*: begin 7'],
    ['an open pass will be', [bench.pass(2, 4, null)], 'running 4-*'],
    ['one that goes round anyway goes on', [bench.pass(2, 4, 8), bench.pass(3, 8, 12)], 'running 4-8* 8-12*'],
  ])('%s', (_, passes, does) => {
    expect(told(keepLayeringTurned(bench.running(...passes), bench.at(6), on))).toBe(does);
  });
});

describe('the longest pass', () => {
  const open = bench.pass(2, 4, null);
  const plan = bench.running(open);

  test('is 64 bars long, and closes there by itself', () => {
    const line = bench.at(4 + LONGEST_PASS);
    expect(longestAt(plan, (line - 1) as typeof line, bench.grid)).toBeNull();
    expect(longestAt(plan, line, bench.grid)).toBe(open);
    expect(told(close(plan, open, lastLineOf(open), { nextPass: 7 }))).toBe('running 4-68: close 2 at 68');
  });

  test.each([
    ['a pass with its line', bench.running(bench.pass(2, 4, 8))],
    ['nothing recorded', bench.running()],
  ])('is none with %s', (_, other) => {
    expect(longestAt(other, bench.at(500), bench.grid)).toBeNull();
  });
});
