/** Changes of section: which line, what ends there and how, what begins there, and that nothing is heard of the joint. */
import { describe, expect, test } from 'vitest';
import fc from 'fast-check';
import { frames } from '../../../src/core/units/index.js';
import { audibleVoices, audioOf, drawnRun, drawnVoice } from '../../support/drawn-voices.js';
import { Performance } from '../../support/performance.js';
import type { PerformanceOptions } from '../../support/performance.js';
import { greatestError, referenceVoices } from '../../support/reference-mixer.js';
import type { RowVoice } from '../../support/row-programs.js';
import { falling, rising, rowProgram } from '../../support/row-programs.js';
import { largestStep } from '../../support/signals.js';

const AGREE = 1e-7;
const BAR = 24_000;
const gridOf = (barFrames: number, rate = 48_000) => ({ rate, barFrames, pulses: 4, beats: 0b1111 });

/** Something plays, and two other sections stand by. Audio by handle. */
function onStage(
  options: PerformanceOptions,
  sections: readonly { readonly barFrames: number; readonly voices: readonly RowVoice[] }[],
  audio: ReadonlyMap<number, Float32Array>,
) {
  const p = new Performance({ outputDelay: 2000, ...options });
  for (const [handle, samples] of audio) p.stored.set(handle, [[...samples]]);
  const programs = sections.map(({ barFrames, voices }, index) =>
    rowProgram({ grid: gridOf(barFrames, options.rate), voices, revision: index + 1 }),
  );
  programs.slice(1).forEach((program, index) => p.handle({ type: 'stand-by', slot: index + 1, program }));
  p.useProgram(programs[0]!);
  p.runUntil(2000);
  p.handle({ type: 'play', heard: frames(0) });
  const voicesOf = (index: number) => referenceVoices(programs[index]!, (handle) => audio.get(handle)!);
  return { p, programs, voicesOf, origin: p.origin };
}

function goAt(p: Performance, heard: number, slot = 1): void {
  p.runUntil(heard + p.outputDelay);
  p.handle({ type: 'go', slot, heard: frames(heard) });
}

/** A steady level: what fades shows. */
const level = (id: number, value: number, more: Partial<RowVoice> = {}): [RowVoice, [number, Float32Array]] => [
  { id, audio: id, bodyStart: 5000, bodyFrames: 2 * BAR, lead: 0, tail: 0, left: 1, ...more },
  [id, new Float32Array(4 * BAR).fill(value)],
];

describe('the line of a change', () => {
  // Up to half a bar before a line counts as that line; what has been rendered, and two blocks, can't be changed.
  test.each([
    [-11_999, 3, false],
    [-8000, 3, false],
    [-2257, 3, false],
    [-2255, 4, true],
    [0, 4, true],
    [1, 4, true],
    [11_999, 4, true],
    [12_000, 4, false],
    [12_001, 4, false],
  ])('asked for %i frames from line 3, heard 2,000 late, is line %i; late: %s', (offset, line, late) => {
    const [one, first] = level(1, 0.1);
    const [two, second] = level(2, 0.2);
    // The press falls on the edge of a block, so that two blocks are 256 frames to the frame.
    const sections = [one, two].map((voice) => ({ barFrames: BAR, voices: [voice] }));
    let size = 128;
    const { p, origin } = onStage({ blockSize: () => size }, sections, new Map([first, second]));
    const heard = origin + 3 * BAR + offset;
    p.runUntil(heard + p.outputDelay - 3000);
    size = 1;
    p.runUntil(heard + p.outputDelay - 128);
    size = 128;
    goAt(p, heard);
    expect(p.rendered).toBe(heard + 2000);
    expect(p.last('section-changes')).toEqual({ type: 'section-changes', at: origin + line * BAR, slot: 1, late });
    expect(p.origin).toBe(origin + line * BAR);
    p.runUntil(p.origin + BAR);
    expect(p.left[p.origin - 1]).toBe(Math.fround(0.1));
    expect(p.left[p.origin + 600]).toBe(Math.fround(0.2));
  });

  test('is the first of the new section, whatever its bars: lines count from there', () => {
    const [one, first] = level(1, 0.1);
    const [two, second] = level(2, 0.2, { bodyFrames: 30_000 });
    const sections = [
      { barFrames: BAR, voices: [one] },
      { barFrames: 10_000, voices: [two] },
    ];
    const { p, origin } = onStage({}, sections, new Map([first, second]));
    goAt(p, origin + 2 * BAR - 5000);
    expect(p.origin).toBe(origin + 2 * BAR);
    p.rules(1);
    p.pressAt(p.origin + 25_000 - 4000);
    const closed = p.runUntilReport('layer-closed');
    expect(closed).toMatchObject({ startBar: 2, bars: 1, bodyFrames: 10_000, at: p.origin + 30_000 });
    const { at } = p.last('recording-started');
    expect(at + closed.bodyStart).toBe(p.origin + 20_000 + p.roundTrip);
  });
});

describe('a change of section', () => {
  test('sounds as the plain mixer says: cut bodies for 10 ms more, tails to their end, leads before the line', () => {
    fc.assert(
      fc.property(
        fc.array(fc.oneof(drawnVoice, drawnRun), { minLength: 1, maxLength: 5 }),
        fc.array(fc.oneof(drawnVoice, drawnRun), { minLength: 1, maxLength: 5 }),
        fc.constantFrom(44_100, 48_000, 96_000),
        fc.integer({ min: 6, max: 20 }),
        fc.array(fc.integer({ min: 1, max: 500 }), { minLength: 1, maxLength: 5 }),
        (before, after, rate, bar, sizes) => {
          const barFrames = 1500;
          const old = audibleVoices(before, barFrames, 1);
          const fresh = audibleVoices(after, barFrames, 101);
          let next = 0;
          const blockSize = (): number => sizes[next++ % sizes.length]!;
          const sections = [old, fresh].map((voices) => ({ barFrames, voices }));
          const { p, voicesOf, origin } = onStage(
            { rate, blockSize, outputDelay: 0 },
            sections,
            new Map([...audioOf(old), ...audioOf(fresh)]),
          );
          // Leads of up to 2,000 frames have to be in time, or they would rise late.
          goAt(p, origin + bar * barFrames - 700);
          const line = p.origin;
          expect((line - origin) % barFrames).toBe(0);
          const fade = Math.round(rate / 100);
          const inTime = p.rendered + fade;
          p.runUntil(line + 12 * barFrames);
          const ends = { origin, voices: voicesOf(0).map((voice) => ({ ...voice, from: voice.start })), cut: line };
          const begins = { origin: line, voices: voicesOf(1).map((voice) => ({ ...voice, from: voice.start })) };
          const beforeLine = { ...begins, voices: begins.voices.filter((voice) => voice.start >= 0) };
          const unaware = { origin: ends.origin, voices: ends.voices };
          // What is under way at line 0 rises there within 10 ms; what is cut, and leads that had begun, fall within 10 ms.
          expect(greatestError(p, [unaware], origin + fade, inTime - fade)).toBeLessThanOrEqual(AGREE);
          expect(greatestError(p, [ends, beforeLine], inTime, line)).toBeLessThanOrEqual(AGREE);
          expect(greatestError(p, [ends, begins], line + fade + 1, line + 10 * barFrames)).toBeLessThanOrEqual(AGREE);
        },
      ),
      { numRuns: 25 },
    );
  }, 60_000);

  test.each([44_100, 48_000, 96_000])('at %i frames a second lets a cut body fall within 10 ms', (rate) => {
    const [one, first] = level(1, 0.4, { bodyFrames: 3 * BAR });
    const [two, second] = level(2, 0);
    const sections = [one, two].map((voice) => ({ barFrames: BAR, voices: [voice] }));
    const { p, origin } = onStage({ rate }, sections, new Map([first, second]));
    goAt(p, origin + BAR - 8000);
    const line = p.origin;
    expect(line).toBe(origin + BAR);
    p.runUntil(line + BAR);
    const fade = Math.round(rate / 100);
    const out = p.left.slice(line - 1, line + fade + 2);
    expect(out[0]).toBe(Math.fround(0.4));
    expect(out.every((sample, i) => i === 0 || sample <= out[i - 1]!)).toBe(true);
    expect(out[Math.round(fade / 2)]).toBeCloseTo(0.2, 2);
    expect(out[fade - 1]).toBeGreaterThan(0);
    expect(out[fade + 1]).toBe(0);
    expect(largestStep(p.left, line - 2000, line + 2000)).toBeLessThanOrEqual((0.4 / fade) * 1.01);
  });

  test('leaves an iteration alone that had ended before the line', () => {
    // It ends halfway, under a fade; its frames behind that are never heard, at the change neither.
    const [one, first] = level(1, 0.4, { bodyFrames: 4 * BAR, tail: -2 * BAR, fadeOut: falling(480, 1) });
    const [two, second] = level(2, 0, { lead: 480, fadeIn: rising(480, 1), fadeOut: rising(4 * BAR, 0) });
    const sections = [[one, two], [two]].map((voices) => ({ barFrames: BAR, voices }));
    const { p, origin } = onStage({}, sections, new Map([first, second]));
    goAt(p, origin + 2 * BAR + BAR / 2 + 3000);
    expect(p.origin).toBe(origin + 3 * BAR);
    p.runUntil(p.origin + BAR);
    expect(p.left.slice(origin + 2 * BAR, p.origin + BAR).every((sample) => sample === 0)).toBe(true);
  });

  test('lets a tail ring on over the new section, and a lead sound before the line', () => {
    const ringing = { bodyFrames: BAR, tail: BAR / 2, fadeOut: falling(4800, 1), fadeIn: rising(480, 1), lead: 480 };
    const [one, first] = level(1, 0.1, ringing);
    const [two, second] = level(2, 0.2, { lead: 4000, fadeIn: rising(96, 1) });
    const sections = [one, two].map((voice) => ({ barFrames: BAR, voices: [voice] }));
    const { p, origin } = onStage({}, sections, new Map([first, second]));
    goAt(p, origin + 2 * BAR - 11_000);
    const line = p.origin;
    p.runUntil(line + BAR);
    const at = (frame: number): number => p.left[line + frame]!;
    // The body, its last round's tail until half a bar in, and the new section's lead from 4,000 frames before the line.
    expect(at(-4001)).toBeCloseTo(0.1, 6);
    expect(at(-1000)).toBeCloseTo(0.3, 6);
    expect(at(BAR / 2 - 4801)).toBeCloseTo(0.3, 6);
    expect(at(BAR / 2 + 1)).toBeCloseTo(0.2, 6);
  });
});

describe('a change that is asked for', () => {
  const sectionsOf = (values: readonly number[]) => {
    const made = values.map((value, i) => level(i + 1, value));
    return {
      sections: made.map(([voice], i) => ({ barFrames: BAR + 2000 * i, voices: [voice] })),
      audio: new Map(made.map(([, entry]) => entry)),
    };
  };

  test('once more before its line goes to the other section, at the same line, without a step', () => {
    const made = [level(1, 0.1), level(2, 0.2, { lead: 4500, fadeIn: rising(480, 1) }), level(3, 0.3)];
    const sections = made.map(([voice], i) => ({ barFrames: i === 0 ? BAR : 3000, voices: [voice] }));
    const { p, origin } = onStage({}, sections, new Map(made.map(([, entry]) => entry)));
    goAt(p, origin + 2 * BAR - 10_500, 2);
    goAt(p, origin + 2 * BAR - 8000, 1);
    // The pickup of the section that will not come sounds already.
    goAt(p, origin + 2 * BAR - 4000, 2);
    expect(p.all('section-changes').map(({ at, slot, late }) => [at - origin, slot, late])).toEqual([
      [2 * BAR, 2, false],
      [2 * BAR, 1, false],
      [2 * BAR, 2, false],
    ]);
    const line = p.origin;
    p.runUntil(line + 2 * BAR);
    expect(line).toBe(origin + 2 * BAR);
    expect(p.left[line - 10]).toBeCloseTo(0.1, 6);
    expect(p.left[line + 500]).toBeCloseTo(0.3, 6);
    expect(p.left[line + BAR]).toBeCloseTo(0.3, 6);
    // The pickup falls within 5 ms or slower; the joint itself is the new section's first frame.
    expect(largestStep(p.left, line - 11_000, line)).toBeLessThanOrEqual(0.2 / 240 + 1e-6);
  });

  test('after a pickup has begun that belonged to the next round lets that fall without a step', () => {
    const made = [level(1, 0.1, { lead: 4500, fadeIn: rising(480, 1), bodyFrames: BAR }), level(2, 0)];
    const sections = made.map(([voice]) => ({ barFrames: BAR, voices: [voice] }));
    const { p, origin } = onStage({}, sections, new Map(made.map(([, entry]) => entry)));
    goAt(p, origin + 2 * BAR - 4000);
    const line = p.origin;
    expect(line).toBe(origin + 2 * BAR);
    p.runUntil(line + BAR);
    expect(p.left[line - 2010]).toBeCloseTo(0.2, 6);
    expect(p.left[line - 1]).toBeCloseTo(0.1, 6);
    expect(largestStep(p.left, line - 6000, line)).toBeLessThanOrEqual(0.1 / 240);
  });

  test('once more when its line can no longer be changed comes at the next line of the section that came', () => {
    const { sections, audio } = sectionsOf([0.1, 0.2, 0.3]);
    const { p, origin } = onStage({}, sections, audio);
    goAt(p, origin + 2 * BAR - 10_500, 1);
    goAt(p, origin + 2 * BAR - 2100, 2);
    const [first, second] = p.all('section-changes');
    expect(first?.at).toBe(origin + 2 * BAR);
    expect(second).toMatchObject({ at: origin + 2 * BAR + BAR + 2000, slot: 2, late: true });
    p.runUntil(p.origin + BAR);
    const at = (frame: number): number => p.left[origin + 2 * BAR + frame]!;
    expect(at(-1)).toBeCloseTo(0.1, 6);
    expect(at(600)).toBeCloseTo(0.2, 6);
    expect(at(BAR + 1999)).toBeCloseTo(0.2, 6);
    expect(at(BAR + 2600)).toBeCloseTo(0.3, 6);
  });

  test('holds when playing stops before its line: the new section is what plays from the top', () => {
    const { sections, audio } = sectionsOf([0.1, 0.2]);
    const { p, origin } = onStage({}, sections, audio);
    goAt(p, origin + 2 * BAR - 10_500, 1);
    p.runUntil(p.rendered + 1000);
    p.handle({ type: 'stop', heard: frames(p.heard) });
    p.runUntil(p.rendered + 5000);
    p.handle({ type: 'set-click', playing: true, gain: 0.01 as never });
    p.runUntil(p.rendered + 1000);
    p.handle({ type: 'play', heard: frames(p.heard) });
    const again = p.origin;
    p.runUntil(again + 3 * BAR);
    expect(p.house[again + 20_000]).toBeCloseTo(0.2, 6);
    // The click counts in the new section's bars: a knock at each of its beats, and none where the old ones were.
    const beat = (BAR + 2000) / 4;
    const clicks = p.left.slice(again, again + 2 * BAR).map((sample, i) => sample - p.house[again + i]!);
    const knocks = [...clicks.keys()].filter(
      (i) => clicks[i] !== 0 && clicks.slice(Math.max(0, i - 1500), i).every((s) => s === 0),
    );
    expect(knocks).toEqual(Array.from({ length: knocks.length }, (_, i) => i * beat));
    expect(knocks.length).toBeGreaterThanOrEqual(7);
  });

  test('while something is recorded is refused, and so it is while nothing plays or nothing stands by', () => {
    const { sections, audio } = sectionsOf([0.1, 0.2]);
    const { p, origin } = onStage({}, sections, audio);
    goAt(p, p.heard, 7);
    expect(p.last('refused')).toMatchObject({ command: 'go', why: 'no-such-place' });
    p.rules(2);
    p.pressAt(origin + BAR);
    goAt(p, origin + BAR + 5000);
    expect(p.last('refused')).toMatchObject({ command: 'go', why: 'still-recording' });
    p.runUntilReport('layer-closed');
    const early = p.all('section-changes').length;
    goAt(p, p.heard);
    expect([early, p.all('section-changes').length]).toEqual([0, 1]);
    p.handle({ type: 'stop', heard: frames(p.heard) });
    goAt(p, p.heard);
    expect(p.last('refused')).toMatchObject({ command: 'go', why: 'not-playing' });
    for (const slot of [-1, 8, 1.5]) {
      p.handle({ type: 'stand-by', slot, program: rowProgram({ grid: gridOf(BAR), voices: [] }) });
      expect(p.last('refused')).toMatchObject({ command: 'stand-by', why: 'no-such-place' });
    }
  });

  test.each([
    ['for the line at which a pass ends', 3 * BAR - 5000, 3],
    ['just after that line, while the pass is coming in', 3 * BAR + 1000, 4],
  ])('%s is no refusal, and the pass is kept whole', (_, pressed, line) => {
    const { sections, audio } = sectionsOf([0.1, 0.2]);
    const { p, origin } = onStage({ roundTrip: 30_000 }, sections, audio);
    p.rules(2);
    p.pressAt(origin + BAR);
    goAt(p, origin + pressed);
    expect(p.all('refused')).toEqual([]);
    expect(p.all('layer-closed')).toEqual([]);
    expect(p.last('section-changes').at).toBe(origin + line * BAR);
    expect(p.engine.plan).toMatchObject({ origin: origin + line * BAR, passes: [] });
    expect(p.runUntilReport('layer-closed')).toMatchObject({ startBar: 1, bars: 2, bodyFrames: 2 * BAR });
    p.runUntil(origin + (line + 2) * BAR);
    expect(p.house[origin + line * BAR + 20_000]).toBeCloseTo(0.2, 6);
  });

  test('before a note of what was to play has sounded is refused', () => {
    const { sections, audio } = sectionsOf([0.1, 0.2]);
    const { p } = onStage({}, sections, audio);
    p.handle({ type: 'stop', heard: frames(p.heard) });
    p.runUntil(p.rendered + 4000);
    p.handle({ type: 'play', heard: frames(p.heard) });
    goAt(p, p.heard);
    expect(p.last('refused')).toMatchObject({ command: 'go', why: 'not-playing' });
    p.runUntil(p.origin + 1000);
    expect(p.left[p.origin + 900]).toBeCloseTo(0.1, 6);
  });

  test('carries on with what the page says of the new section before the line', () => {
    const made = [level(1, 0.1), level(2, 0.2), level(3, 0.1, { start: -BAR, lead: 3000 })];
    const [old, fresh, added] = made.map(([voice]) => voice) as [RowVoice, RowVoice, RowVoice];
    const sections = [old, fresh].map((voice) => ({ barFrames: BAR, voices: [voice] }));
    const { p, origin } = onStage({}, sections, new Map(made.map(([, entry]) => entry)));
    goAt(p, origin + 2 * BAR - 10_500, 1);
    // A layer under way at the top comes in there, not before; so does what was turned up meanwhile.
    p.useProgram(rowProgram({ grid: gridOf(BAR), voices: [fresh, { ...added, left: 0.5 }], revision: 5 }));
    p.runUntil(p.rendered + 600);
    p.useProgram(rowProgram({ grid: gridOf(BAR), voices: [fresh, added], revision: 6 }));
    const line = p.origin;
    p.runUntil(line + BAR);
    expect(p.left[line - 1]).toBeCloseTo(0.1, 6);
    expect(p.left[line + 500]).toBeCloseTo(0.3, 6);
  });
});
