import { describe, expect, test } from 'vitest';
import { ProgramGrid } from '../../../src/core/program/program-grid.js';
import type { Program } from '../../../src/core/program/program.js';
import { programStretches } from '../../../src/core/program/stretch-arrays.js';
import { frames, gain } from '../../../src/core/units/index.js';
import { barProgram, knocksBetween, placesBetween, playing, readyToPlay } from '../../support/bar-programs.js';
import { Performance } from '../../support/performance.js';
import type { RowVoice } from '../../support/row-programs.js';
import { firstDifference, largestStep } from '../../support/signals.js';
import { gradual, metre, steady, STUDIO, tempo } from '../meter/given.js';
import { lines } from '../program/given.js';

const Q = 24_000;
const BAR = 4 * Q;
const common = metre(4, 4);
const at120 = [steady(4, common, tempo(120))];
const at90 = [steady(4, common, tempo(90))];
/** A bar of three quarters of 32,000 frames. */
const waltz = [steady(4, metre(3, 4), tempo(90))];

const quarters = (from: number, count: number, length: number): readonly number[] =>
  Array.from({ length: count }, (_, i) => from + i * length);

const toldLines = (p: Performance, count: number): readonly number[] =>
  lines(new ProgramGrid(p.last('bars-changed').stretches), count);

describe('other bar lines while a pass is open', () => {
  /** A pass of open length from line 0; the program with other bars comes in the middle of bar 2. */
  function changed(list: Program['stretches'], block = 128): Performance {
    const p = readyToPlay(barProgram(at120), { blockSize: () => block });
    p.rules(null);
    p.pressAt(p.heard + 1000);
    p.runUntil(p.origin + 2 * BAR + 40_000);
    p.handle({ type: 'use-program', program: { ...barProgram(at120, { revision: 2 }), stretches: list } });
    return p;
  }

  test('hold from the next line on; what is before it stays where it was', () => {
    const p = changed(programStretches(waltz, STUDIO, true));
    const { origin } = p;
    p.runUntil(origin + 3 * BAR + 6 * 32_000 + 3000);
    expect(placesBetween(p, 0, 3 * BAR + 6 * 32_000)).toEqual([...quarters(0, 12, Q), ...quarters(3 * BAR, 6, 32_000)]);
    const firsts = knocksBetween(p, 0, 3 * BAR + 6 * 32_000).filter(({ level }) => level > 0.2);
    expect(firsts.map(({ at }) => at)).toEqual([0, BAR, 2 * BAR, 3 * BAR, 3 * BAR + 3 * 32_000]);
    expect(p.origin).toBe(origin);
  });

  test('are the same for any split into blocks', () => {
    const [a, b] = [128, 1000].map((block) => {
      const p = changed(programStretches(waltz, STUDIO, true), block);
      p.runUntil(p.origin + 6 * BAR);
      return placesBetween(p, 0, 5 * BAR);
    });
    expect(a).toEqual(b);
  });

  test('count for the press that closes it', () => {
    const p = changed(programStretches(waltz, STUDIO, true));
    // Bar 3 lasts 96,000 frames, bar 4 too, but in three: the press is past the middle of bar 4.
    p.pressAt(p.origin + 4 * BAR + 50_000);
    expect(p.runUntilReport('layer-closed')).toMatchObject({ startBar: 0, bars: 5, bodyFrames: 5 * BAR });
    const q = changed(programStretches([steady(1, common, tempo(60))], STUDIO, true));
    q.pressAt(q.origin + 4 * BAR + 50_000);
    expect(q.runUntilReport('layer-closed')).toMatchObject({ startBar: 0, bars: 4, bodyFrames: 3 * BAR + 2 * BAR });
  });

  test('are told to the page as they hold', () => {
    const p = changed(programStretches(at90, STUDIO, true));
    expect(p.all('bars-changed')).toHaveLength(1);
    expect(toldLines(p, 6)).toEqual([
      0,
      BAR,
      2 * BAR,
      3 * BAR,
      3 * BAR + 128_000,
      3 * BAR + 2 * 128_000,
      3 * BAR + 3 * 128_000,
    ]);
  });

  test('are in force as a whole when playing starts anew', () => {
    const p = changed(programStretches(waltz, STUDIO, true));
    p.handle({ type: 'take-back', heard: frames(p.heard) });
    p.runUntil(p.rendered + Q);
    p.handle({ type: 'play', heard: frames(p.heard) });
    p.runUntil(p.origin + 6 * 32_000 + 3000);
    expect(placesBetween(p, 0, 6 * 32_000)).toEqual(quarters(0, 6, 32_000));
  });

  test('come again and again, each from its own line on', () => {
    const p = changed(programStretches(waltz, STUDIO, true));
    p.handle({ type: 'use-program', program: barProgram(at90, { revision: 3 }) });
    p.runUntil(p.origin + 3 * BAR + 1000);
    p.handle({ type: 'use-program', program: barProgram(at120, { revision: 4 }) });
    p.runUntil(p.origin + 3 * BAR + 4 * 32_000 + 4 * Q + 3000);
    const line = 3 * BAR + 4 * 32_000;
    expect(placesBetween(p, 0, line + 4 * Q)).toEqual([
      ...quarters(0, 12, Q),
      ...quarters(3 * BAR, 4, 32_000),
      ...quarters(line, 4, Q),
    ]);
  });
});

describe('other bar lines wait', () => {
  test('for the closing line of a pass that has one, and for passes lined up behind it', () => {
    const p = readyToPlay(barProgram(at120));
    p.rules(4, 1);
    p.pressAt(p.heard + 1000);
    p.pressAt(p.origin + BAR);
    p.handle({ type: 'use-program', program: barProgram(at90, { revision: 2 }) });
    p.runUntil(p.origin + 8 * BAR + 10_000);
    expect(p.all('layer-closed').map(({ startBar, bodyFrames }) => [startBar, bodyFrames])).toEqual([
      [0, 4 * BAR],
      [4, 4 * BAR],
    ]);
    expect(toldLines(p, 10).slice(7)).toEqual([7 * BAR, 8 * BAR, 8 * BAR + 128_000, 8 * BAR + 2 * 128_000]);
  });

  test('in a count-in, for line 0', () => {
    const p = readyToPlay(barProgram(at120));
    p.rules(null, 2);
    p.pressAt(p.heard + 1000);
    p.runUntil(p.origin - BAR - 5000);
    p.handle({ type: 'use-program', program: barProgram(at90, { revision: 2 }) });
    p.runUntil(p.origin + 3 * 32_000 + 3000);
    expect(placesBetween(p, -2 * BAR, 3 * 32_000)).toEqual([...quarters(-2 * BAR, 8, Q), ...quarters(0, 3, 32_000)]);
    expect(toldLines(p, 2)).toEqual([0, 128_000, 256_000]);
  });
});

describe('the click alone', () => {
  test('goes on at the same part of the same bar, and no knock is broken off', () => {
    const p = playing(barProgram(at120));
    const { origin } = p;
    // In the middle of the knock of beat 2.
    p.runUntil(origin + 5 * Q + 300);
    const at = p.rendered;
    p.handle({ type: 'use-program', program: barProgram(at90, { revision: 2 }) });
    p.runUntil(at + BAR);
    const plain = playing(barProgram(at120));
    plain.runUntil(at + 3000);
    expect(firstDifference(p.left.slice(0, at + 2000), plain.left.slice(0, at + 2000))).toBe(-1);
    const part = (at - origin - 5 * Q) / Q;
    const next = Math.round(at + (1 - part) * 32_000);
    const heard = placesBetween(p, at + 2000 - p.origin, at + 80_000 - p.origin).map((each) => each + p.origin);
    expect(heard.map((each) => Math.abs(each - next))).toEqual(
      [0, 32_000].map((each) => expect.closeTo(each, -0.5) as number),
    );
  });

  test('has no other bars, and is not moved, where only the length of the loop is another', () => {
    const p = playing(barProgram(at120));
    p.runUntil(p.origin + 5 * Q);
    const plans = p.all('plan-changed').length;
    p.handle({ type: 'use-program', program: barProgram([steady(7, common, tempo(120))], { revision: 2 }) });
    expect(p.all('plan-changed')).toHaveLength(plans);
    expect(p.all('bars-changed')).toEqual([]);
  });
});

describe('voices', () => {
  const bar = (list: readonly RowVoice[], stretches = at120, revision = 2): Program =>
    barProgram(stretches, { voices: list, revision });
  const noise = Array.from({ length: 8 * BAR }, (_, i) => Math.fround(Math.sin(i * i * 1e-6) * 0.2));
  const voice = (id: number, audio: number, bodyFrames: number, more: Partial<RowVoice> = {}): RowVoice => ({
    id,
    audio,
    bodyStart: 1000,
    bodyFrames,
    lead: 0,
    ...more,
  });

  /** Plays a loop of four bars, and asks for the other program in the middle of bar 5. */
  function changed(first: Program, second: Program): Performance {
    const p = new Performance();
    p.stored.set(5, [noise]);
    p.stored.set(6, [noise.map((sample) => -sample)]);
    p.handle({ type: 'set-click', playing: true, gain: gain(0) });
    p.useProgram(first);
    p.handle({ type: 'play', heard: frames(p.heard) });
    p.runUntil(p.origin + 5 * BAR + 40_000);
    p.handle({ type: 'use-program', program: second });
    return p;
  }
  const body = (from: number, count: number, sign = 1): Float32Array =>
    Float32Array.from(noise.slice(1000 + from, 1000 + from + count), (sample) => sign * sample);

  test('with other bodies begin at the line at which the bars are others, and the old ones sound up to it', () => {
    // The same four bars, conformed to 90: another rendition with a body of four bars of 128,000 frames.
    const p = changed(bar([voice(1, 5, 4 * BAR)]), bar([voice(1, 6, 4 * 128_000)], at90, 3));
    const line = p.origin + 6 * BAR;
    p.runUntil(line + 3 * 128_000);
    expect(firstDifference(p.house.slice(line - BAR, line), body(BAR, BAR))).toBe(-1);
    // Bar 6 is the third of the four: the voice is joined there under way, over 8 ms.
    const joined = p.house.slice(line + 480, line + 2 * 128_000);
    expect(firstDifference(joined, body(2 * 128_000 + 480, 2 * 128_000 - 480, -1))).toBe(-1);
    expect(largestStep(p.house, line - 10, line + 600)).toBeLessThan(0.4);
    const round = p.house.slice(line + 2 * 128_000, line + 2 * 128_000 + 1000);
    expect(firstDifference(round, body(0, 1000, -1))).toBe(-1);
  });

  test('that begin a round at that line begin whole, with their lead', () => {
    const first = bar([voice(1, 5, 2 * BAR)]);
    const second = bar([voice(1, 6, 3 * 32_000 * 2, { lead: 300, fadeIn: new Float32Array(300).fill(0.5) })], waltz, 3);
    const p = changed(first, second);
    const line = p.origin + 6 * BAR;
    p.runUntil(line + 10_000);
    expect(firstDifference(p.house.slice(line + 480, line + 5000), body(480, 4520, -1))).toBe(-1);
    expect(p.house[line]).toBe(Math.fround(-(noise[1000] ?? NaN)));
    const lead = p.house[line - 150] ?? NaN;
    expect(lead).toBeCloseTo((noise[1000 + 2 * BAR - 150] ?? NaN) - 0.5 * (noise[850] ?? NaN), 6);
  });

  test('that lie as before go on sample for sample, where bars ahead are others', () => {
    const later = [steady(8, common, tempo(120)), gradual(2, common, tempo(120), 80), ...at90];
    const one = voice(1, 5, 4 * BAR, { end: 12 * BAR });
    const other = voice(2, 6, 4 * 128_000, { start: 20 * BAR });
    const p = changed(
      { ...bar([one]), stretches: programStretches([steady(9, common, tempo(120))], STUDIO, false) },
      { ...bar([one, other], at120, 3), stretches: programStretches(later, STUDIO, false) },
    );
    p.runUntil(p.origin + 8 * BAR);
    expect(firstDifference(p.house.slice(p.origin + 4 * BAR, p.origin + 8 * BAR - 200), body(0, 4 * BAR - 200))).toBe(
      -1,
    );
  });

  test('that lie as before go on while others change with the bars ahead', () => {
    const later = [steady(8, common, tempo(120)), ...at90];
    const stays = voice(1, 5, 4 * BAR, { end: 12 * BAR });
    const p = changed(
      { ...bar([stays, voice(2, 6, BAR, { end: 2 * BAR })]), stretches: programStretches(at120, STUDIO, false) },
      {
        ...bar([stays, voice(2, 6, 2 * BAR, { start: 30 * BAR })], at120, 3),
        stretches: programStretches(later, STUDIO, false),
      },
    );
    p.runUntil(p.origin + 8 * BAR);
    expect(firstDifference(p.house.slice(p.origin + 4 * BAR, p.origin + 8 * BAR - 200), body(0, 4 * BAR - 200))).toBe(
      -1,
    );
  });

  test('that come with a later program lie where it says, counted from where its bars took over', () => {
    const p = changed(bar([voice(1, 5, 4 * BAR)]), bar([voice(1, 6, 4 * 128_000)], at90, 3));
    const line = p.origin + 6 * BAR;
    p.runUntil(line + 128_000);
    // One that plays from its bar 8 on, and no other: bar 8 comes two bars of 128,000 frames after the line of bar 6.
    p.handle({ type: 'use-program', program: bar([voice(2, 5, BAR, { start: 8 * 128_000 })], at90, 4) });
    p.runUntil(line + 3 * 128_000);
    const begins = line + 2 * 128_000;
    expect(p.house.slice(begins - 20_000, begins).every((sample) => sample === 0)).toBe(true);
    expect(firstDifference(p.house.slice(begins, begins + BAR), body(0, BAR))).toBe(-1);
  });

  test('of a pass go on through the change, and when the page names them', () => {
    const p = readyToPlay(barProgram(at120, { voices: [] }));
    p.rules(2, 1);
    p.pressAt(p.heard + 1000);
    const { origin } = p;
    p.play = (frame) => noise[frame - origin] ?? 0;
    const closed = p.runUntilReport('layer-closed');
    p.runUntil(origin + 3 * BAR + 5000);
    p.handle({ type: 'use-program', program: bar([], at90, 2) });
    p.runUntil(origin + 5 * BAR);
    // Bar 4 of the new bars lies at 4 · 128,000 in its program, and at 4 · 96,000 where it took over.
    const shift = 4 * BAR - 4 * 128_000;
    const known = voice(closed.pass, closed.audio, 2 * BAR, { bodyStart: closed.bodyStart, start: 2 * BAR - shift });
    p.handle({ type: 'use-program', program: { ...bar([known], at90, 3), passesKnown: closed.pass } });
    p.runUntil(origin + 8 * BAR);
    let wrong = 0;
    for (let i = 2 * BAR; i < 7 * BAR; i++) {
      const inBody = i % (2 * BAR);
      if (inBody < 2 * BAR - 480 && p.house[origin + i] !== p.play(origin + inBody)) wrong++;
    }
    expect(wrong).toBe(0);
  });

  test('whose lead is longer than what can still be rendered rise in it, without a step', () => {
    const long = voice(1, 6, 4 * 128_000, { bodyStart: 40_000, lead: 30_000, start: 6 * 128_000 });
    const p = new Performance();
    p.stored.set(5, [noise]);
    p.stored.set(6, [noise.map((sample) => -sample)]);
    p.useProgram(bar([voice(1, 5, 4 * BAR, { end: BAR })]));
    p.handle({ type: 'play', heard: frames(p.heard) });
    const line = p.origin + 6 * BAR;
    p.runUntil(line - 5000);
    const at = p.rendered;
    p.handle({ type: 'use-program', program: bar([long], at90, 3) });
    p.runUntil(line + 10_000);
    expect(largestStep(p.house, at - 10, at + 20)).toBeLessThan(0.002);
    const from = 40_000 - (line - at) + 384;
    const rest = Float32Array.from(noise.slice(from, from + 10_000), (sample) => -sample);
    expect(firstDifference(p.house.slice(at + 384, at + 10_384), rest)).toBe(-1);
  });

  test('of a change that was overtaken by another are never heard', () => {
    const p = changed(bar([voice(1, 5, 4 * BAR)]), bar([voice(1, 6, 4 * 128_000)], at90, 3));
    const line = p.origin + 6 * BAR;
    p.stored.set(7, [noise.map((sample) => 0.25 * sample)]);
    p.handle({ type: 'use-program', program: bar([voice(1, 7, 4 * BAR)], [steady(4, metre(3, 4), tempo(90))], 4) });
    p.runUntil(line + 2 * BAR);
    expect(firstDifference(p.house.slice(line - BAR, line), body(BAR, BAR))).toBe(-1);
    // The old one fades for 10 ms after the line, the newest rises for 8 ms: nothing of the one in between.
    expect(firstDifference(p.house.slice(line + 480, line + BAR), body(2 * BAR + 480, BAR - 480, 0.25))).toBe(-1);
    for (let i = 0; i < 480; i++) {
      const old = (noise[1000 + 2 * BAR + i] ?? NaN) * (1 - i / 480);
      const fresh = (0.25 * (noise[1000 + 2 * BAR + i] ?? NaN) * Math.min(384, i)) / 384;
      expect(p.house[line + i]).toBeCloseTo(old + fresh, 5);
    }
  });

  test('end where a change of section comes, which comes no sooner than the change of bars', () => {
    const p = new Performance();
    p.stored.set(5, [noise]);
    p.stored.set(6, [noise.map((sample) => -sample)]);
    p.useProgram(bar([voice(1, 5, 4 * BAR)]));
    p.handle({ type: 'play', heard: frames(p.heard) });
    const { origin } = p;
    // So near to line 2 that a voice could no longer rise before it, though the line could still be changed.
    p.runUntil(origin + 2 * BAR - 500);
    p.handle({ type: 'stand-by', slot: 0, program: bar([], waltz, 4) });
    p.handle({ type: 'use-program', program: bar([voice(1, 6, 4 * 128_000)], at90, 3) });
    p.handle({ type: 'go', slot: 0, heard: frames(p.heard) });
    expect(p.last('section-changes').at).toBe(origin + 3 * BAR);
    p.runUntil(origin + 5 * BAR);
    expect(firstDifference(p.house.slice(origin, origin + 3 * BAR), body(0, 3 * BAR))).toBe(-1);
    expect(p.house.slice(origin + 3 * BAR + 480).every((sample) => sample === 0)).toBe(true);
  });

  test('keep their place, and the lines theirs, when the page sends the same bars again after a change', () => {
    const second = bar([voice(1, 6, 4 * 128_000)], at90, 3);
    const p = changed(bar([voice(1, 5, 4 * BAR)]), second);
    const q = changed(bar([voice(1, 5, 4 * BAR)]), second);
    const end = p.origin + 6 * BAR + 5 * 128_000;
    p.runUntil(p.origin + 8 * BAR);
    p.handle({ type: 'use-program', program: { ...second, revision: 4 } });
    p.runUntil(end);
    q.runUntil(end);
    expect(firstDifference(p.left, q.left)).toBe(-1);
  });

  test('start where they belong when playing starts anew after a change', () => {
    const p = changed(bar([voice(1, 5, 4 * BAR)]), bar([voice(1, 6, 4 * 128_000)], at90, 3));
    p.handle({ type: 'stop', heard: frames(p.heard) });
    p.runUntil(p.rendered + Q);
    p.handle({ type: 'play', heard: frames(p.heard) });
    p.runUntil(p.origin + 3 * BAR);
    expect(firstDifference(p.house.slice(p.origin, p.origin + 2 * BAR), body(0, 2 * BAR, -1))).toBe(-1);
  });

  test('whose bars are only read anew stay where they are, at once', () => {
    // Four bars of 4/4 at 120 read as eight at 240: not a frame of what sounds changes.
    const p = changed(bar([voice(1, 5, 4 * BAR)]), bar([voice(1, 5, 4 * BAR)], [steady(8, common, tempo(240))], 3));
    p.runUntil(p.origin + 8 * BAR);
    expect(firstDifference(p.house.slice(p.origin + 4 * BAR, p.origin + 8 * BAR - 200), body(0, 4 * BAR - 200))).toBe(
      -1,
    );
    expect(p.all('bars-changed')).toEqual([]);
  });
});
