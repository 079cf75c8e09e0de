import { describe, expect, test } from 'vitest';
import type { EngineReport } from '../../src/core/render/commands.js';
import type { Pass } from '../../src/core/transport/plan.js';
import { frames, sampleRate } from '../../src/core/units/index.js';
import type { Extent } from '../../src/rehearsal/open-passes.js';
import { OpenPasses } from '../../src/rehearsal/open-passes.js';
import { Bench } from '../support/situations.js';

const bench = new Bench();
const BAR = bench.at(1) - bench.at(0);
const ROUND_TRIP = 4000;
const FROM = bench.at(0) - 100_000;

const begun = (pass: number, audio = 1): Extract<EngineReport, { type: 'pass-begun' }> => ({
  type: 'pass-begun',
  at: bench.at(0),
  pass,
  audio,
  channels: [0],
  replaces: null,
  roundTrip: { frames: frames(ROUND_TRIP), how: 'measured', sure: true },
});

/** The recording holds what was played up to a bar. */
const upTo = (bar: number) => (): Extent => ({ at: frames(FROM), frames: bench.at(0) + bar * BAR + ROUND_TRIP - FROM });

function endings(open: OpenPasses, bar: number): readonly string[] {
  return open.endings(bench.grid, sampleRate(48_000), upTo(bar)).map((ending) => {
    if (ending.type === 'idea') return `idea of ${ending.cut.bodyFrames / BAR} bars`;
    const { pass, startBar, bars, bodyFrames, bodyStart } = ending.closed;
    expect(bodyFrames).toBe(bars * BAR);
    expect(bodyStart).toBe(bench.at(startBar) + ROUND_TRIP - FROM);
    return `layer ${pass}: ${startBar} to ${startBar + bars}`;
  });
}

function openPasses(...passes: readonly Pass[]): OpenPasses {
  const open = new OpenPasses();
  open.follow(bench.running(...passes));
  for (const { number } of passes) open.begun(begun(number));
  return open;
}

describe('when the engine is gone', () => {
  test.each([
    ['an open first pass', [bench.pass(1, 0, null)], 3.5, ['layer 1: 0 to 3']],
    ['to the frame of its line', [bench.pass(1, 0, null)], 3, ['layer 1: 0 to 3']],
    ['of more than 64 bars', [bench.pass(1, 0, null)], 70, ['layer 1: 0 to 64']],
    ['of half a bar', [bench.pass(1, 0, null)], 0.5, ['idea of 0.5 bars']],
    ['of less than a second', [bench.pass(1, 0, null)], 0.3, []],
    ['in the count-in', [bench.pass(1, 0, null)], -0.5, []],
    ['an open pass over a loop', [bench.pass(2, 4, null)], 6.5, ['idea of 2.5 bars']],
    ['a pass whose body has come in whole', [bench.pass(2, 4, 8)], 8, ['layer 2: 4 to 8']],
    ['a frame less', [bench.pass(2, 4, 8)], 7.5, ['idea of 3.5 bars']],
    [
      'one that is whole and the next',
      [bench.pass(2, 4, 8), bench.pass(3, 8, 12)],
      9,
      ['layer 2: 4 to 8', 'idea of 1 bars'],
    ],
    ['one that is under way and the next', [bench.pass(2, 4, 8), bench.pass(3, 8, 12)], 6, ['idea of 2 bars']],
  ])('%s', (_, passes, bar, become) => {
    expect(endings(openPasses(...passes), bar)).toEqual(become);
  });

  test('a pass is known after a stop, until the engine says what became of it', () => {
    const open = openPasses(bench.pass(2, 4, 8));
    open.follow({ type: 'stopped', at: bench.at(8) });
    expect(endings(open, 8)).toEqual(['layer 2: 4 to 8']);
    open.gone(2);
    expect(endings(open, 8)).toEqual([]);
  });

  test('what has no tempo is an idea from its press on', () => {
    const open = new OpenPasses();
    open.begun(begun(0));
    expect(endings(open, 3)).toEqual(['idea of 3 bars']);
  });

  test('of a recording that has ended nothing is left to say', () => {
    expect(openPasses(bench.pass(2, 4, 8)).endings(bench.grid, sampleRate(48_000), () => undefined)).toEqual([]);
  });
});
