/** How what is being recorded ends: stopped, held, taken back, gone round, as long as it can be. */
import { describe, expect, test } from 'vitest';
import type { PassRules } from '../../../src/core/render/commands.js';
import { frames } from '../../../src/core/units/index.js';
import { Performance } from '../../support/performance.js';
import { programOf } from '../../support/programs.js';
import { noiseAt } from '../../support/signals.js';

/** A bar of 4/4 at 240, and a ring that holds it many times. */
const RATE = 24_000;
const BAR = RATE;
const played = (frame: number): number => Math.fround(0.2 * noiseAt(frame, 5));

function stage(length: number | null, more: Partial<PassRules> = {}): Performance {
  const p = new Performance({ rate: RATE, ringSeconds: 20, roundTrip: 2400, outputDelay: 960 });
  p.useProgram(programOf({ rate: RATE, bpm: 240, sectionBars: length }));
  p.rules(length, 1, more);
  p.play = played;
  return p;
}

/** Counts in, and plays until a bar is heard. */
function inBar(p: Performance, bar: number): number {
  p.pressAt(1000);
  const { origin } = p;
  p.runUntil(origin + Math.round(bar * BAR) + p.outputDelay);
  return origin;
}

const say = (p: Performance, type: 'stop' | 'take-back' | 'play'): void => {
  p.handle({ type, heard: frames(p.heard) });
};

/** Frames of engine time after which the recording has ended, from now on. */
function endsAfter(p: Performance): number {
  const from = p.rendered;
  p.runUntilReport('recording-ended');
  return p.rendered - from;
}

function expectStored(p: Performance, at: number): void {
  const cut = p.last('pass-cut');
  const body = p.stored.get(cut.audio)?.[0]?.slice(cut.bodyStart, cut.bodyStart + cut.bodyFrames);
  expect(body).toHaveLength(cut.bodyFrames);
  expect(body?.findIndex((sample, i) => sample !== played(at + i))).toBe(-1);
}

describe('recording goes on no longer than somebody needs it', () => {
  test.each([
    ['taken back in the count-in', 16, {}, -0.5, 'take-back'],
    ['taken back in a bar', 16, {}, 1.5, 'take-back'],
    ['stopped as it has hardly begun', 16, {}, 0.2, 'stop'],
    ['stopped in a bar, layering kept up', 16, { keepLayering: true }, 1.5, 'stop'],
    ['taken back in a bar, layering kept up', 16, { keepLayering: true }, 1.5, 'take-back'],
  ] as const)('%s', (_, length, more, bar, type) => {
    const p = stage(length, more);
    inBar(p, bar);
    say(p, type);
    // What is on its way to the ring, and a block or two.
    expect(endsAfter(p)).toBeLessThan(p.roundTrip + 1000);
  });

  test('what another pass needs of it is left', () => {
    const p = stage(2);
    const origin = inBar(p, 1.5);
    p.handle({ type: 'press', heard: frames(p.heard) });
    const closed = p.runUntilReport('layer-closed');
    p.runUntil(closed.at + BAR);
    say(p, 'take-back');
    expect(p.last('pass-dropped').pass).toBe(2);
    p.runUntilReport('recording-ended');
    expect(p.rendered).toBeGreaterThanOrEqual(origin + 2 * BAR + p.roundTrip + 4 * RATE);
  });
});

describe('stopped before its line, a pass is cut', () => {
  test('what was heard of it is in the recording, to the bit, and it is no layer', () => {
    const p = stage(8);
    const origin = inBar(p, 7.4);
    const { heard } = p;
    say(p, 'stop');
    const cut = p.runUntilReport('pass-cut');
    expect(cut).toMatchObject({ pass: 1, channels: [0], bodyFrames: heard - origin });
    expectStored(p, origin);
    p.runUntil(p.rendered + 10 * BAR);
    expect(p.all('layer-closed')).toEqual([]);
    expect(p.all('pass-dropped')).toEqual([]);
    expect(p.all('recording-ended')).toHaveLength(1);
  });

  test('it does not sound when playing starts again', () => {
    const p = stage(4);
    inBar(p, 2.2);
    say(p, 'stop');
    p.runUntil(p.rendered + 5000);
    say(p, 'play');
    const { origin } = p;
    p.runUntil(origin + 5 * BAR);
    expect(p.left.slice(origin, origin + 5 * BAR).every((sample) => sample === 0)).toBe(true);
  });

  test('and taken back before it has come in, it is let go', () => {
    const p = stage(8);
    inBar(p, 3.3);
    say(p, 'stop');
    say(p, 'take-back');
    expect(p.last('pass-dropped').pass).toBe(1);
    p.runUntil(p.rendered + 2 * BAR);
    expect(p.all('pass-cut')).toEqual([]);
  });

  test('and so is a loop without a tempo that nobody closed', () => {
    const p = stage(null, { withoutTempo: true });
    p.runUntil(20_000);
    p.handle({ type: 'press', heard: frames(15_000) });
    p.runUntil(15_000 + 10 * RATE);
    const { heard } = p;
    say(p, 'stop');
    const cut = p.runUntilReport('pass-cut');
    expect(cut).toMatchObject({ pass: 0, bodyFrames: heard - 15_000 });
    expectStored(p, 15_000);
    expect(p.all('pass-dropped')).toEqual([]);
  });

  test.each([
    [0.9, 'pass-dropped'],
    [1.1, 'pass-cut'],
  ] as const)('a loop without a tempo of %f seconds: %s', (seconds, type) => {
    const p = stage(null, { withoutTempo: true });
    p.runUntil(20_000);
    p.handle({ type: 'press', heard: frames(15_000) });
    p.runUntil(15_000 + seconds * RATE + p.outputDelay);
    say(p, 'stop');
    p.runUntil(p.rendered + RATE);
    expect([...p.all('pass-dropped'), ...p.all('pass-cut')].map((report) => report.type)).toEqual([type]);
  });
});

describe('a switch that is held', () => {
  test.each([
    ['the click plays', null],
    ['a length is set', 4],
  ])('and stops leaves no layer where %s', (_, length) => {
    const p = stage(length);
    p.handle({ type: 'play', heard: frames(p.heard) });
    const { origin } = p;
    const pressed = origin + 5 * BAR + 5500;
    p.pressAt(pressed);
    p.runUntil(pressed + 0.7 * RATE + p.outputDelay);
    p.handle({ type: 'stop', heard: frames(pressed + Math.round(0.7 * RATE)), held: true });
    p.runUntil(p.rendered + 6 * BAR);
    expect(p.all('layer-closed')).toEqual([]);
    expect(p.all('pass-cut')).toEqual([]);
    expect(p.all('pass-dropped')).toHaveLength(1);
  });

  test('after a press that came too soon undoes nothing that was there', () => {
    const p = stage(null);
    p.handle({ type: 'play', heard: frames(p.heard) });
    const pressed = p.origin + 5 * BAR;
    p.pressAt(pressed);
    p.pressAt(pressed + 5000);
    expect(p.last('refused').why).toBe('pressed-again-too-soon');
    p.runUntil(pressed + 5000 + 0.7 * RATE + p.outputDelay);
    p.handle({ type: 'stop', heard: frames(pressed + 5000 + Math.round(0.7 * RATE)), held: true });
    expect(p.runUntilReport('layer-closed').bars).toBe(1);
  });
});

describe('taken back with layering kept up', () => {
  test.each([
    [-0.5, [1, 2], 'stopped'],
    [1.5, [1, 2], 'stopped'],
    // The second pass: the first is a layer by then.
    [3.5, [2, 3], 'running'],
  ])('at bar %f lets go of passes %j: the one under way, and what follows it', (bar, gone, type) => {
    const p = stage(2, { keepLayering: true });
    inBar(p, bar);
    say(p, 'take-back');
    expect(p.all('pass-dropped').map(({ pass }) => pass)).toEqual(gone);
    expect(p.engine.plan.type).toBe(type);
    p.runUntil(p.rendered + 6 * BAR);
    expect(p.all('layer-closed').map(({ pass }) => pass)).toEqual(gone[0] === 1 ? [] : [1]);
  });
});

describe('layering that is kept up no longer', () => {
  test('ends with the pass under way', () => {
    const p = stage(2, { keepLayering: true });
    inBar(p, 2.5);
    p.rules(2, 1, { keepLayering: false });
    expect(p.all('pass-dropped').map(({ pass }) => pass)).toEqual([3]);
    p.runUntil(p.rendered + 8 * BAR);
    expect(p.all('layer-closed').map(({ pass }) => pass)).toEqual([1, 2]);
  });

  test('within the delay of the input after the line, too: nobody turns it off so soon and means the pass after it', () => {
    const p = stage(2, { keepLayering: true });
    inBar(p, 2.02);
    expect(p.all('layer-closed')).toEqual([]);
    p.rules(2, 1, { keepLayering: false });
    p.runUntil(p.rendered + 8 * BAR);
    expect(p.all('layer-closed').map(({ pass }) => pass)).toEqual([1]);
    expect(p.all('pass-begun')).toHaveLength(2);
  });

  test('and is kept up again goes on', () => {
    const p = stage(2);
    inBar(p, 0.5);
    p.rules(2, 1, { keepLayering: true });
    p.runUntil(p.origin + 5.5 * BAR);
    expect(p.all('layer-closed').map(({ pass }) => pass)).toEqual([1, 2]);
  });
});

test('taken back after a stop and a start, the pass that is still coming in goes first', () => {
  const p = stage(null);
  inBar(p, 5.6);
  say(p, 'stop');
  p.runUntil(p.rendered + 1000);
  say(p, 'play');
  p.runUntil(p.rendered + 1000);
  expect(p.all('layer-closed')).toEqual([]);
  say(p, 'take-back');
  expect(p.last('pass-dropped').pass).toBe(1);
  expect(p.all('refused')).toEqual([]);
  expect(p.engine.plan.type).toBe('running');
  p.runUntil(p.rendered + 3 * BAR);
  expect(p.all('layer-closed')).toEqual([]);
});

test('an open pass is 64 bars long at most: it closes there, and goes round from that line', () => {
  const p = stage(null);
  const origin = inBar(p, 63.5);
  expect(p.engine.plan).toMatchObject({ passes: [{ endBar: null }] });
  const closed = p.runUntilReport('layer-closed');
  expect(closed).toMatchObject({ startBar: 0, bars: 64, bodyFrames: 64 * BAR, at: origin + 64 * BAR });
  p.play = () => 0;
  p.runUntil(origin + 66 * BAR);
  // The body's end is crossfaded into its beginning before the line; after it, it is what was played.
  const out = p.left.slice(origin + 64 * BAR, origin + 65 * BAR);
  expect(out.findIndex((sample, i) => sample !== played(origin + i))).toBe(-1);
});
