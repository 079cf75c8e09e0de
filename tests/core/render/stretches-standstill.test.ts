import { describe, expect, test } from 'vitest';
import type { Stretch } from '../../../src/core/meter/stretch.js';
import { ProgramGrid } from '../../../src/core/program/program-grid.js';
import { STANDSTILL } from '../../../src/core/program/program.js';
import { programStretches } from '../../../src/core/program/stretch-arrays.js';
import { frames } from '../../../src/core/units/index.js';
import { barProgram, placesBetween, playing, readyToPlay } from '../../support/bar-programs.js';
import type { Performance } from '../../support/performance.js';
import { endedTable } from '../../support/stretch-table.js';
import { firstDifference, largestStep, strokes } from '../../support/signals.js';
import { free, holdBeats, metre, steady, STUDIO, tempo, untilPressed } from '../meter/given.js';
import { tableOf } from '../program/given.js';

const Q = 24_000;
const BAR = 4 * Q;
const common = metre(4, 4);

/** The fourth beat of bar 1 is held until a press; it is over, and time stands still, at the frame of line 2. */
const held: readonly Stretch[] = [steady(4, common, tempo(120), untilPressed(1, 3))];
const STILL = 2 * BAR;
const withFree: readonly Stretch[] = [steady(1, common, tempo(120)), free(null), steady(2, common, tempo(120))];

const goOn = (p: Performance, heard = p.heard): void => p.handle({ type: 'end-standstill', heard: frames(heard) });
const press = (p: Performance): void => p.handle({ type: 'press', heard: frames(p.heard) });

describe('while time stands still', () => {
  test.each([
    ['at a fermata', held, [0, 1, 2, 3, 4, 5, 6, 7].map((i) => i * Q)],
    ['in free time', withFree, [0, 1, 2, 3].map((i) => i * Q)],
  ])('%s nothing clicks, however long', (_, list, expected) => {
    const p = playing(barProgram(list));
    p.runUntil(p.origin + 20 * BAR);
    expect(placesBetween(p, 0, 20 * BAR)).toEqual(expected);
  });
});

describe('a press', () => {
  const goingOn = [
    ['by its own command', goOn],
    ['by the one switch', press],
  ] as const;

  test.each(goingOn)('%s lets the next line come at the first frame that can be rendered', (_, act) => {
    const p = playing(barProgram(held));
    const { origin } = p;
    p.runUntil(origin + STILL + 71_003);
    const next = p.rendered + 2 * 128;
    act(p);
    p.runUntil(next + 3 * BAR);
    const line = next - origin;
    expect(placesBetween(p, STILL - Q, line + 2 * BAR)).toEqual([
      STILL - Q,
      ...[0, 1, 2, 3, 4, 5, 6, 7].map((i) => line + i * Q),
    ]);
    expect(p.last('standstill-ended')).toMatchObject({ at: next, bar: 1, position: line });
    expect(p.origin).toBe(origin);
    expect(p.all('refused')).toEqual([]);
  });

  test.each(goingOn)('%s in free time lets the next bar begin', (_, act) => {
    const p = playing(barProgram(withFree));
    p.runUntil(p.origin + BAR + 123_456);
    const line = p.rendered + 2 * 128 - p.origin;
    act(p);
    p.runUntil(p.origin + line + BAR);
    expect(placesBetween(p, BAR, line + BAR - 2000)).toEqual([0, 1, 2, 3].map((i) => line + i * Q));
  });

  test('changes nothing of what sounded before, nor makes a step in it', () => {
    const p = playing(barProgram(held));
    const left = playing(barProgram(held));
    p.runUntil(p.origin + STILL + 500);
    goOn(p);
    const at = p.rendered;
    p.runUntil(at + BAR);
    left.runUntil(at + BAR);
    expect(firstDifference(p.left.slice(0, at), left.left.slice(0, at))).toBe(-1);
    expect(largestStep(p.left, at, at + 2000)).toBeLessThanOrEqual(largestStep(p.left, 0, at) + 1e-9);
  });

  test.each([0, 1, 4000, Q - 1])('%i frames after the held beat began, it is not held at all', (early) => {
    const p = playing(barProgram(held));
    const plain = playing(barProgram([steady(4, common, tempo(120))]));
    for (const each of [p, plain]) each.runUntil(p.origin + 7 * Q + early + each.outputDelay - 1400);
    // Where the end of the beat was rendered already, it comes as soon as it can.
    goOn(p, p.origin + 7 * Q + early);
    for (const each of [p, plain]) each.runUntil(p.origin + 4 * BAR);
    const late = Math.max(0, p.last('standstill-ended').at - p.origin - STILL);
    expect(late).toBeLessThanOrEqual(1400);
    expect(placesBetween(p, 0, 4 * BAR - 3000)).toEqual(
      placesBetween(plain, 0, 4 * BAR - 5000).map((at) => (at >= STILL ? at + late : at)),
    );
  });

  test('before the held beat is not this one: the command is refused, and nothing changes', () => {
    const p = playing(barProgram(held));
    p.runUntil(p.origin + 5 * Q + 4000);
    goOn(p, p.origin + 7 * Q - 1);
    expect(p.last('refused')).toMatchObject({ command: 'end-standstill', why: 'not-standing-still' });
    p.runUntil(p.origin + 6 * BAR);
    expect(placesBetween(p, STILL, 6 * BAR)).toEqual([]);
  });

  test('is refused where time does not stand still, and where nothing plays', () => {
    const p = readyToPlay(barProgram(held));
    goOn(p);
    expect(p.last('refused').why).toBe('not-standing-still');
    const q = playing(barProgram([steady(4, common, tempo(120))]));
    q.runUntil(q.origin + BAR);
    goOn(q);
    expect(q.last('refused').why).toBe('not-standing-still');
  });

  test('ends one after the other', () => {
    const p = playing(barProgram([steady(1, common, tempo(120), untilPressed(0, 0)), free(null)], { loop: false }));
    p.runUntil(p.origin + 3 * BAR);
    goOn(p);
    const first = p.last('standstill-ended').position;
    p.runUntil(p.origin + first + 3 * BAR);
    goOn(p);
    const second = p.last('standstill-ended').position;
    expect(p.all('standstill-ended').map(({ bar }) => bar)).toEqual([0, 1]);
    p.runUntil(p.origin + second + BAR);
    expect(placesBetween(p, 0, second + BAR)).toEqual([0, first, first + Q, first + 2 * Q]);
  });

  test('in a loop makes every later round as long', () => {
    const p = playing(barProgram(held));
    p.runUntil(p.origin + STILL + 10_000);
    goOn(p);
    const { position } = p.last('standstill-ended');
    const round = 4 * BAR + position - STILL;
    p.runUntil(p.origin + 3 * round + 3000);
    expect(placesBetween(p, round, 2 * round)).toEqual(placesBetween(p, 0, round).map((at) => at + round));
    expect(placesBetween(p, 2 * round, 3 * round)).toEqual(placesBetween(p, 0, round).map((at) => at + 2 * round));
  });

  test('is forgotten when playing starts anew: time stands still again', () => {
    const p = playing(barProgram(held));
    p.runUntil(p.origin + STILL + 10_000);
    goOn(p);
    p.runUntil(p.rendered + BAR);
    p.handle({ type: 'stop', heard: frames(p.heard) });
    p.runUntil(p.rendered + Q);
    p.handle({ type: 'play', heard: frames(p.heard) });
    p.runUntil(p.origin + 6 * BAR);
    expect(placesBetween(p, 0, 6 * BAR)).toEqual([0, 1, 2, 3, 4, 5, 6, 7].map((i) => i * Q));
  });
});

describe('the page', () => {
  /** What sounds when time has gone on and, a bar later, the page sends a program. */
  function recompiled(stretches: (position: number) => Float64Array<ArrayBuffer>) {
    const p = playing(barProgram(held));
    p.runUntil(p.origin + STILL + 10_000);
    goOn(p);
    const { position } = p.last('standstill-ended');
    p.runUntil(p.origin + position + BAR + 5000);
    p.useProgram({ ...barProgram(held, { revision: 2 }), stretches: stretches(position) });
    p.runUntil(p.origin + position + 7 * BAR);
    return { p, position };
  }

  const never = recompiled(() => programStretches(held, STUDIO, true));

  test('is told of the bar lines that hold', () => {
    const told = never.p.all('bars-changed').map(({ stretches }) => stretches);
    const ended = endedTable(tableOf(held), frames(never.position)).stretches;
    expect(told[0]).toEqual(programStretches(ended, STUDIO, true));
    // After the program that knows nothing of it, once more.
    expect(told).toHaveLength(2);
    expect(told[1]).toEqual(told[0]);
  });

  test('may send the stretches as they are, or with the length the press gave them: everything keeps its place', () => {
    const knowing = recompiled((position) =>
      programStretches(endedTable(tableOf(held), frames(position)).stretches, STUDIO, true),
    );
    expect(knowing.position).toBe(never.position);
    const { position } = never;
    const expected = Array.from({ length: 8 }, (_, i) => position + i * Q);
    expect(placesBetween(never.p, position, position + 2 * BAR)).toEqual(expected);
    const end = never.p.origin + position + 6 * BAR;
    expect(firstDifference(knowing.p.left.slice(0, end), never.p.left.slice(0, end))).toBe(-1);
    expect(knowing.p.all('bars-changed')).toHaveLength(1);
  });

  test.each([
    ['with the click alone', null],
    ['with a pass open', Q],
  ])('that sends other bars later, %s, does not make time stand still again', (_, pressed) => {
    const p = playing(barProgram(held));
    p.rules(null);
    if (pressed !== null) p.pressAt(p.origin + pressed);
    const { origin } = p;
    p.runUntil(origin + STILL + 10_000);
    goOn(p);
    const line = p.last('standstill-ended').position;
    p.runUntil(origin + line + Q + 5000);
    const grouped = [steady(4, metre(4, 4, 2, 2), tempo(120), untilPressed(1, 1))];
    p.useProgram(barProgram(grouped, { revision: 2 }));
    p.runUntil(origin + line + 3 * BAR);
    // From the next knock on in two: at once, or from the next line on. The next round is held as long as this one.
    const twos = [4, 6].map((i) => line + i * Q);
    expect(placesBetween(p, line + Q + 5000, line + 8 * Q - 3000)).toEqual(
      pressed === null ? [line + 2 * Q, ...twos] : [line + 2 * Q, line + 3 * Q, ...twos],
    );
    expect(p.all('standstill-ended')).toHaveLength(1);
    const grid = new ProgramGrid(p.last('bars-changed').stretches);
    expect(grid.standstill).toBeNull();
  });

  test('that sends other bars while time stands still is obeyed when it goes on, at the next line', () => {
    const p = playing(barProgram(held, { voices: [] }));
    p.rules(null);
    p.pressAt(p.origin + Q);
    p.runUntil(p.origin + STILL + 10_000);
    p.useProgram(barProgram([steady(4, common, tempo(60))], { voices: [], revision: 2 }));
    p.runUntil(p.origin + STILL + 40_000);
    goOn(p);
    const { position } = p.last('standstill-ended');
    p.runUntil(p.origin + position + 3 * BAR);
    expect(placesBetween(p, STILL, position + 3 * BAR - 3000)).toEqual(
      [0, 1, 2, 3, 4, 5].map((i) => position + 2 * i * Q),
    );
  });
});

describe('a pass', () => {
  test('over a fermata ends when the bars are over, as long as it was, and comes round where it was played', () => {
    const p = readyToPlay(barProgram(held));
    p.rules(4, 1);
    p.pressAt(p.heard + 1000);
    const { origin } = p;
    p.play = strokes(
      Array.from({ length: 40 }, (_, i) => origin + i * 20_011),
      { seed: 8 },
    );
    p.runUntil(origin + STILL + 60_000);
    expect(p.all('layer-closed')).toEqual([]);
    press(p);
    const length = 4 * BAR + p.last('standstill-ended').position - STILL;
    const closed = p.runUntilReport('layer-closed');
    expect(closed).toMatchObject({ startBar: 0, bars: 4, bodyFrames: length });
    const ended = p.runUntilReport('recording-ended');
    expect(ended.frames).toBeLessThan(closed.bodyStart + length + 5 * 48_000);
    p.runUntil(origin + 2 * length);
    let wrong = 0;
    for (let i = 0; i < length - 480; i++) if (p.house[origin + length + i] !== p.play(origin + i)) wrong++;
    expect(wrong).toBe(0);
  });

  test('that begins behind a standstill begins when time goes on', () => {
    const p = readyToPlay(barProgram(held));
    p.rules(2, 1, { keepLayering: true });
    p.pressAt(p.heard + 1000);
    const { origin } = p;
    p.play = strokes(
      Array.from({ length: 60 }, (_, i) => origin + i * 20_011),
      { seed: 8 },
    );
    p.runUntil(origin + STILL + 60_000);
    press(p);
    const { position } = p.last('standstill-ended');
    const second = p.runUntilReport('layer-closed', ({ startBar }) => startBar === 2);
    // The held beat belongs to the first pass.
    expect(p.all('layer-closed').slice(0, 2)).toMatchObject([
      { startBar: 0, bars: 2, bodyFrames: position },
      { startBar: 2, bars: 2, bodyFrames: 2 * BAR },
    ]);
    p.runUntil(p.rendered + 48_000);
    const audio = p.stored.get(second.audio)?.[0] ?? [];
    let wrong = 0;
    for (let i = 0; i < 2 * BAR; i++) if (audio[second.bodyStart + i] !== p.play(origin + position + i)) wrong++;
    expect(wrong).toBe(0);
  });

  test('over layers, asked for in the held beat, begins when time goes on, in a recording of its own', () => {
    const silent = { id: 9, audio: 5, bodyStart: 0, bodyFrames: BAR, left: 0 };
    const p = readyToPlay(barProgram(held, { voices: [] }));
    p.stored.set(5, [Array.from({ length: BAR }, () => 0)]);
    p.useProgram(barProgram(held, { voices: [silent], revision: 2 }));
    p.rules(1);
    p.handle({ type: 'play', heard: frames(p.heard) });
    const { origin } = p;
    p.play = strokes(
      Array.from({ length: 60 }, (_, i) => origin + i * 20_011),
      { seed: 8 },
    );
    p.pressAt(origin + 7 * Q + 3000);
    p.runUntil(origin + STILL + 400_000);
    press(p);
    const { position } = p.last('standstill-ended');
    const closed = p.runUntilReport('layer-closed');
    expect(closed).toMatchObject({ startBar: 2, bars: 1, bodyFrames: BAR });
    p.runUntil(p.rendered + 48_000);
    const audio = p.stored.get(closed.audio)?.[0] ?? [];
    let wrong = 0;
    for (let i = 0; i < BAR; i++) if (audio[closed.bodyStart + i] !== p.play(origin + position + i)) wrong++;
    expect(wrong).toBe(0);
  });

  test('that is another take silences the old one from its line on, wherever a press puts it', () => {
    const old = { id: 9, audio: 5, bodyStart: 0, bodyFrames: BAR };
    const p = readyToPlay(barProgram(held, { voices: [] }));
    p.stored.set(5, [Array.from({ length: BAR }, (_, i) => Math.fround(0.1 * Math.sin(i / 7)))]);
    p.useProgram(barProgram(held, { voices: [old], revision: 2 }));
    p.rules(1, 1, { replaces: 9 });
    p.handle({ type: 'play', heard: frames(p.heard) });
    const { origin } = p;
    p.pressAt(origin + 7 * Q + 3000);
    p.runUntil(origin + STILL + 400_000);
    press(p);
    const line = origin + p.last('standstill-ended').position;
    p.runUntil(line + BAR - 2000);
    const loud = (from: number, to: number): boolean =>
      p.house.slice(from, to).some((sample) => Math.abs(sample) > 0.05);
    expect([loud(line - 2000, line), loud(line + 384, line + BAR - 3000)]).toEqual([true, false]);
  });

  test('over the click alone, asked for in the held beat, lets the line come: the beat is not held', () => {
    const p = playing(barProgram(held));
    p.rules(1);
    const { origin } = p;
    p.pressAt(origin + 7 * Q + 3000);
    expect(p.origin).toBe(origin + STILL);
    expect(p.runUntilReport('layer-closed')).toMatchObject({ startBar: 0, bars: 1, bodyFrames: BAR });
    // From there on the program as it is: bar 1 of it is held again.
    p.runUntil(p.origin + 6 * BAR);
    expect(placesBetween(p, -Q, 6 * BAR)).toEqual([-1, 0, 1, 2, 3, 4, 5, 6, 7].map((i) => i * Q));
  });

  test('of free time is as long as it was played: it ends with the stop', () => {
    const p = readyToPlay(barProgram(withFree, { loop: false }));
    p.rules(2, 1);
    p.pressAt(p.heard + 1000);
    p.runUntil(p.origin + BAR + 150_000);
    const stopped = p.heard;
    const { origin } = p;
    p.handle({ type: 'stop', heard: frames(stopped) });
    expect(p.runUntilReport('layer-closed')).toMatchObject({ startBar: 0, bars: 2, bodyFrames: stopped - origin });
    expect(p.all('standstill-ended')).toEqual([]);
  });
});

describe('voices', () => {
  /** A voice of noise with a given beginning, body and place. */
  function withVoice(list: readonly Stretch[], start: number, revision = 1) {
    const voice = { id: 1, audio: 5, bodyStart: 1000, bodyFrames: BAR, start, end: start + BAR, lead: 480 };
    return barProgram(list, { voices: [voice], revision, loop: false });
  }
  const sound = Array.from({ length: BAR + 2000 }, (_, i) => Math.fround(Math.sin(i * i * 1e-5) * 0.2));

  test('behind a standstill begin with their line, sample for sample', () => {
    const program = withVoice(held, STILL + STANDSTILL);
    const p = readyToPlay(barProgram(held, { voices: [] }));
    p.stored.set(5, [sound]);
    p.useProgram({ ...program, revision: 2 });
    p.handle({ type: 'play', heard: frames(p.heard) });
    p.runUntil(p.origin + STILL + 50_000);
    expect(p.house.slice(p.origin).every((sample) => sample === 0)).toBe(true);
    goOn(p);
    const line = p.origin + p.last('standstill-ended').position;
    // The gain of a voice whose lead is cut rises over 8 ms before its line.
    expect(line - p.rendered).toBe(2 * 128 + 384);
    p.runUntil(line + BAR + 2000);
    expect(firstDifference(p.house.slice(line, line + BAR), Float32Array.from(sound.slice(1000, 1000 + BAR)))).toBe(-1);
    expect(p.house.slice(line + BAR + 1).every((sample) => sample === 0)).toBe(true);
  });

  test('go on sample for sample when the page sends the same program again', () => {
    const p = readyToPlay(barProgram(held, { voices: [] }));
    p.stored.set(5, [sound]);
    p.useProgram(withVoice(held, STILL + STANDSTILL, 2));
    p.handle({ type: 'play', heard: frames(p.heard) });
    p.runUntil(p.origin + STILL + 50_000);
    goOn(p);
    const line = p.origin + p.last('standstill-ended').position;
    p.runUntil(line + 30_000);
    p.useProgram(withVoice(held, STILL + STANDSTILL, 3));
    p.runUntil(line + BAR + 2000);
    expect(firstDifference(p.house.slice(line, line + BAR), Float32Array.from(sound.slice(1000, 1000 + BAR)))).toBe(-1);
  });
});

test('an endless program runs out as much later as time stood still', () => {
  const p = playing({ ...barProgram(held), pageFrames: STANDSTILL + 8 * BAR });
  p.runUntil(p.origin + STILL + 100_000);
  goOn(p);
  const later = p.last('standstill-ended').position - STILL;
  const wanted = p.runUntilReport('page-wanted');
  // Ten seconds before that.
  const at = p.origin + 8 * BAR + later - 480_000;
  expect(wanted.at).toBeGreaterThanOrEqual(at);
  expect(wanted.at).toBeLessThan(at + 128);
});

describe('a change of section', () => {
  const other = [steady(2, metre(3, 4), tempo(120))];

  test.each([
    ['while time stands still comes at once', STILL + 90_000],
    ['before the fermata skips it', STILL - 30_000],
  ])('%s', (_, when) => {
    const p = playing(barProgram(held));
    p.handle({ type: 'stand-by', slot: 2, program: barProgram(other, { revision: 2 }) });
    const before = p.origin;
    p.runUntil(before + when);
    const soonest = p.rendered + 2 * 128;
    p.handle({ type: 'go', slot: 2, heard: frames(p.heard) });
    expect(p.last('section-changes')).toMatchObject({ at: Math.max(before + STILL, soonest), late: false });
    p.runUntil(p.origin + BAR);
    expect(placesBetween(p, 0, BAR)).toEqual([0, 1, 2, 3].map((i) => i * Q));
    expect(p.last('bars-changed').stretches).toEqual(programStretches(other, STUDIO, true));
  });

  test('is not late where free time has only just begun', () => {
    const p = playing(barProgram(withFree));
    p.handle({ type: 'stand-by', slot: 1, program: barProgram(other, { revision: 2 }) });
    p.runUntil(p.origin + BAR + 2000 + 128);
    const soonest = p.rendered + 2 * 128;
    p.handle({ type: 'go', slot: 1, heard: frames(p.heard) });
    expect(p.last('section-changes')).toMatchObject({ at: soonest, late: false });
  });

  test('goes over fixed fermatas like over any bar', () => {
    const p = playing(barProgram([steady(2, common, tempo(120), holdBeats(0, 3, 2))]));
    p.handle({ type: 'stand-by', slot: 0, program: barProgram(other, { revision: 2 }) });
    const before = p.origin;
    p.runUntil(before + 5 * Q);
    p.handle({ type: 'go', slot: 0, heard: frames(p.heard) });
    expect(p.last('section-changes').at).toBe(before + 6 * Q);
  });
});
