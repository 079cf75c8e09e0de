import { describe, expect, test } from 'vitest';
import fc from 'fast-check';
import { frames } from '../../../src/core/units/index.js';
import { Performance } from '../../support/performance.js';
import type { PerformanceOptions } from '../../support/performance.js';
import { programOf } from '../../support/programs.js';
import { firstDifference, largestStep, strokes } from '../../support/signals.js';

const BAR = 120_000;
const BEAT = BAR / 4;
/** 10 ms before a line, where the seam is. */
const SEAM = 480;

/** A performer who counts in one bar at 96 and records four, open length, closed by a press. */
function fourBars(options: PerformanceOptions = {}, closeEarlyBy = 0): Performance {
  const p = new Performance(options);
  p.useProgram(programOf());
  p.rules(null);
  p.pressAt(1000);
  const { origin } = p;
  p.play = strokes(
    Array.from({ length: 16 }, (_, beat) => origin + beat * BEAT + (beat % 3) * 100),
    { seed: 5 },
  );
  p.pressAt(origin + 4 * BAR - closeEarlyBy);
  return p;
}

/** Compares two spans sample by sample; returns the number that differ. */
function differing(left: Float32Array, at: number, count: number, expected: (i: number) => number): number {
  let different = 0;
  for (let i = 0; i < count; i++) if (left[at + i] !== Math.fround(expected(i))) different++;
  return different;
}

describe('the engine', () => {
  test('counts in one bar in felt beats, the first heavier, before line 0', () => {
    const p = new Performance();
    p.useProgram(programOf());
    p.handle({ type: 'set-click', playing: false, gain: 0.25 as never });
    p.rules(null, 1);
    p.pressAt(1000);
    const { origin } = p;
    p.runUntil(origin + BAR);
    const out = p.left;
    const peak = (from: number): number => Math.max(...out.slice(from, from + 1200).map(Math.abs));
    for (let beat = 0; beat < 4; beat++) {
      const at = origin - BAR + beat * BEAT;
      expect(out[at - 1]).toBe(0);
      expect(Math.abs(out[at] ?? 0)).toBeGreaterThan(0);
      expect(peak(at)).toBeCloseTo(beat === 0 ? 0.25 : 0.15, 6);
    }
    expect(peak(origin)).toBe(0);
  });

  test.each([0, 3000, 20_000, -3000, -20_000])(
    'a loop closed by a press %i frames before the line comes round with every frame where it was played',
    (early) => {
      const p = fourBars({}, early);
      const { origin } = p;
      const closed = p.runUntilReport('layer-closed');
      expect(closed).toMatchObject({ bodyFrames: 4 * BAR, bars: 4, startBar: 0 });
      p.runUntil(origin + 12 * BAR);
      const out = p.left;
      // Where the press came after the line was rendered, the loop joins under way, so the third round is whole.
      expect(differing(out, origin + 8 * BAR, 4 * BAR - SEAM, (i) => p.play(origin + i))).toBe(0);
    },
  );

  test('a loop that closes late joins in phase over a short fade', () => {
    const p = fourBars({}, -6000);
    const { origin } = p;
    const joinsAt = p.rendered;
    p.runUntil(origin + 6 * BAR);
    const from = joinsAt + 480;
    expect(differing(p.left, from, 5 * BAR - (from - origin), (i) => p.play(from - 4 * BAR + i))).toBe(0);
  });

  test('the tenth round equals the second to the bit', () => {
    const p = fourBars();
    const { origin } = p;
    p.runUntil(origin + 45 * BAR);
    const out = p.left;
    const second = out.slice(origin + 4 * BAR + 4 * BAR, origin + 12 * BAR);
    const tenth = out.slice(origin + 40 * BAR, origin + 44 * BAR);
    expect(firstDifference(tenth, second)).toBe(-1);
  });

  test('a second layer lies where it was played over the first', () => {
    const p = fourBars();
    const { origin } = p;
    const first = p.play;
    const closed = p.runUntilReport('layer-closed');
    const layer = {
      voice: closed.pass,
      audio: closed.audio,
      bodyStart: closed.bodyStart,
      bodyFrames: 4 * BAR,
      bars: 4,
    };
    p.useProgram(programOf({ sectionBars: 4, layers: [layer] }, 2));
    p.rules(4);
    p.play = () => 0;
    // Half a beat after a line: that line is meant, and what was played since is in the ring.
    p.play = strokes(
      Array.from({ length: 8 }, (_, i) => origin + 8 * BAR + i * 2 * BEAT + 37 * i),
      { seed: 9 },
    );
    p.pressAt(origin + 8 * BAR + BEAT / 2);
    const second = p.runUntilReport('layer-closed', (report) => report.pass !== closed.pass);
    expect(second).toMatchObject({ startBar: 8, bars: 4, bodyFrames: 4 * BAR });
    p.runUntil(origin + 20 * BAR);
    const both = (i: number): number => Math.fround(first(origin + i) + p.play(origin + 8 * BAR + i));
    expect(differing(p.left, origin + 16 * BAR, 4 * BAR - SEAM, both)).toBe(0);
  });

  test('go round again makes two layers of one unbroken recording', () => {
    const p = new Performance();
    p.useProgram(programOf());
    p.rules(2);
    p.pressAt(1000);
    const { origin } = p;
    p.play = strokes(
      Array.from({ length: 16 }, (_, beat) => origin + beat * BEAT),
      { seed: 3 },
    );
    p.pressAt(origin + BAR);
    p.runUntil(origin + 5 * BAR);
    const layers = p.all('layer-closed');
    expect(layers.map((each) => [each.startBar, each.bars, each.audio])).toEqual([
      [0, 2, 1],
      [2, 2, 1],
    ]);
    expect((layers[1]?.bodyStart ?? 0) - (layers[0]?.bodyStart ?? 0)).toBe(2 * BAR);
  });

  test('pressed once more, going round is taken back', () => {
    const p = new Performance();
    p.useProgram(programOf());
    p.rules(2);
    p.pressAt(1000);
    const { origin } = p;
    p.pressAt(origin + BAR);
    p.pressAt(origin + BAR + 40_000);
    p.runUntil(origin + 6 * BAR);
    expect(p.all('layer-closed')).toHaveLength(1);
    expect(p.all('pass-dropped')).toHaveLength(1);
  });

  test('a second press within 300 ms is a bounce', () => {
    const p = new Performance();
    p.useProgram(programOf());
    p.rules(null);
    p.pressAt(1000);
    p.pressAt(1000 + 14_000);
    expect(p.last('refused').why).toBe('pressed-again-too-soon');
    expect(p.engine.plan.type).toBe('running');
  });

  test('a press that finds no program does not make a bounce of the next', () => {
    const p = new Performance();
    p.rules(null);
    p.pressAt(1000);
    expect(p.last('refused').why).toBe('no-program');
    p.handle({ type: 'use-program', program: programOf() });
    p.pressAt(1000 + 9600);
    expect(p.all('refused')).toHaveLength(1);
    expect(p.engine.plan.type).toBe('running');
    p.pressAt(1000 + 9600 + 9600);
    expect(p.last('refused').why).toBe('pressed-again-too-soon');
  });

  test('taking back while counting in stops, and nothing is kept', () => {
    const p = new Performance();
    p.useProgram(programOf());
    p.rules(null);
    p.pressAt(1000);
    p.runUntil(60_000);
    p.handle({ type: 'take-back', heard: frames(p.heard) });
    expect(p.engine.plan.type).toBe('stopped');
    p.runUntil(60_000 + 20 * BAR);
    expect(p.all('layer-closed')).toHaveLength(0);
    expect(p.left.slice(61_000).every((sample) => sample === 0)).toBe(true);
  });

  test('a pass taken back goes silent without a step, and the others go on', () => {
    const p = fourBars();
    const { origin } = p;
    p.runUntil(origin + 6 * BAR);
    p.useProgram(programOf({}, 2));
    const at = p.rendered;
    p.runUntil(origin + 10 * BAR);
    const out = p.left;
    expect(out.slice(at + 500).every((sample) => sample === 0)).toBe(true);
    expect(largestStep(out, at, at + 500)).toBeLessThanOrEqual(largestStep(out, origin + 4 * BAR, at));
  });

  test('stopping fades over 10 ms; playing again starts at the top', () => {
    const p = fourBars();
    const { origin } = p;
    p.runUntil(origin + 6 * BAR + 5000);
    p.handle({ type: 'stop', heard: frames(p.heard) });
    const stoppedAt = p.rendered;
    p.runUntil(stoppedAt + BAR);
    expect(p.left.slice(stoppedAt + 2 * 128 + 480).every((sample) => sample === 0)).toBe(true);
    const closed = p.last('layer-closed');
    const layer = {
      voice: closed.pass,
      audio: closed.audio,
      bodyStart: closed.bodyStart,
      bodyFrames: 4 * BAR,
      bars: 4,
    };
    p.useProgram(programOf({ sectionBars: 4, layers: [layer] }, 2));
    const played = origin;
    p.pressAt(p.heard + 20_000);
    const again = p.origin;
    p.runUntil(again + BAR);
    expect(differing(p.left, again, BAR, (i) => p.play(played + i))).toBe(0);
  });

  test('what is journalled is what came in, unbroken, every channel', () => {
    const p = fourBars({ channels: 2 });
    const ended = p.runUntilReport('recording-ended');
    const [one, two] = p.stored.get(ended.audio) ?? [];
    expect(one).toHaveLength(ended.frames);
    expect(two).toHaveLength(ended.frames);
    const started = p.last('recording-started');
    const wrong = one?.filter((sample, i) => sample !== p.play(started.at + i - p.roundTrip)).length;
    // The two seconds before line 0 were played before the performer had begun.
    expect(wrong).toBe(0);
    expect(two?.every((sample) => sample === 0)).toBe(true);
  });

  test('after a reload the layers are asked for, and play as before', () => {
    const before = fourBars();
    const closed = before.runUntilReport('layer-closed');
    before.runUntilReport('recording-ended');
    const played = before.origin;
    const p = new Performance();
    p.stored.set(77, before.stored.get(closed.audio) ?? []);
    const layer = { voice: 5, audio: 77, bodyStart: closed.bodyStart, bodyFrames: 4 * BAR, bars: 4 };
    p.useProgram(programOf({ sectionBars: 4, layers: [layer] }));
    p.rules(4);
    p.pressAt(1000);
    p.runUntil(p.origin + 9 * BAR);
    const { origin } = p;
    expect(differing(p.left, origin, 4 * BAR - SEAM, (i) => before.play(played + i))).toBe(0);
    const out = p.left;
    expect(firstDifference(out.slice(origin, origin + 4 * BAR), out.slice(origin + 4 * BAR, origin + 8 * BAR))).toBe(
      -1,
    );
    expect(p.all('fault')).toHaveLength(0);
  });

  test('the click alone plays on, and a new tempo takes it up at the same part of the bar', () => {
    const p = new Performance();
    p.useProgram(programOf());
    p.handle({ type: 'set-click', playing: true, gain: 0.25 as never });
    p.handle({ type: 'play', heard: frames(0) });
    const { origin } = p;
    p.runUntil(origin + 2 * BAR + BEAT / 2);
    p.useProgram(programOf({ bpm: 48 }, 2));
    const at = p.rendered;
    const part = (at - origin - 2 * BAR) / BAR;
    p.runUntil(at + 2 * BAR);
    const next = Math.round(at + (0.25 - part) * 2 * BAR);
    expect(Math.abs(p.left[next - 2] ?? 0)).toBe(0);
    expect(p.left.slice(next - 1, next + 3).some((sample) => sample !== 0)).toBe(true);
  });

  test('any split into blocks gives the same samples', () => {
    // Closed early: a late close joins at the next block, wherever that begins.
    const reference = fourBars({}, 30_000);
    const end = reference.origin + 9 * BAR;
    reference.runUntil(end);
    const expected = reference.left.slice(reference.origin, end - 4096);
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 1, max: 700 }), { minLength: 1, maxLength: 7 }), (sizes) => {
        let next = 0;
        const p = fourBars({ blockSize: () => sizes[next++ % sizes.length] ?? 128 }, 30_000);
        p.runUntil(p.origin + 9 * BAR);
        const got = p.left.slice(p.origin, p.origin + expected.length);
        expect(firstDifference(got, expected)).toBe(-1);
      }),
      { numRuns: 6 },
    );
  });
});
