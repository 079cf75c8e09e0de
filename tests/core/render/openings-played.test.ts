/** How a pass opens, from the first repeat on: heard while it comes in, told to the engine, and played. */
import { describe, expect, test } from 'vitest';
import type { EngineCommand } from '../../../src/core/render/commands.js';
import { crossfadeTables } from '../../../src/core/seam/crossfade.js';
import type { Seam } from '../../../src/core/seam/seam.js';
import { NO_SEAM } from '../../../src/core/seam/seam.js';
import { frames, nearestFrame, sampleRate } from '../../../src/core/units/index.js';
import { Openings } from '../../../src/rehearsal/openings.js';
import { Performance } from '../../support/performance.js';
import { programOf } from '../../support/programs.js';
import { firstDifference, noiseAt, strokes } from '../../support/signals.js';

const RATE = 48_000;
const MS = RATE / 1000;
/** 4/4 at 200: a bar of 1.2 s. */
const BPM = 200;
const BAR = 57_600;
const BEAT = BAR / 4;
/** Decisions are heard 0.4 s later, and the page answers after 0.1 s. */
const AHEAD = { outputDelay: 400 * MS, roundTrip: 430 * MS };
const ANSWER = 100 * MS;

const room = (frame: number): number => 0.0003 * noiseAt(frame, 99);

interface Loop {
  readonly p: Performance;
  /** Engine frame of line 0; the pass is round 0. */
  readonly origin: number;
}

/** A one-bar loop of set length after a count-in; `sound` from line 0. The page does nothing but listen to openings. */
function loopOf(sound: (frame: number) => number, rounds: number, { ahead = AHEAD, bars = 1 } = {}): Loop {
  const p = new Performance(ahead);
  const sent: { readonly due: number; readonly command: EngineCommand }[] = [];
  const openings = new Openings(sampleRate(RATE), (command) => sent.push({ due: p.rendered + ANSWER, command }));
  p.hears = (report) => {
    if (report.type === 'recording-started') openings.started(report);
    if (report.type === 'pass-begun') openings.begun(report, nearestFrame(BEAT));
    if (report.type === 'captured') openings.captured(report);
  };
  p.useProgram(programOf({ bpm: BPM }));
  p.rules(bars);
  p.pressAt(1000);
  const { origin } = p;
  p.play = (heard) => Math.fround(sound(heard - origin));
  while (p.rendered < origin + (rounds + 1) * bars * BAR) {
    p.runUntil(p.rendered + 128);
    while ((sent[0]?.due ?? Infinity) <= p.rendered) {
      const next = sent.shift();
      if (next !== undefined) p.handle(next.command);
    }
  }
  return { p, origin };
}

const beats = (off: number): number[] => Array.from({ length: 60 }, (_, beat) => (beat - 4) * BEAT + off);

const peakIn = (samples: Float32Array): number => samples.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0);

describe('a one-bar loop at 200 a minute, the output 0.4 s ahead', () => {
  test.each([-40, -30, -20, -10, -5, 0, 5, 12, 30, 40])(
    'an attack %i ms from the line sounds whole in the first, the second and the tenth repeat',
    (ms) => {
      const off = ms * MS;
      const struck = strokes(beats(off), { level: 0.5, decay: 3000 });
      const { p, origin } = loopOf((frame) => struck(frame) + room(frame), 11);
      for (const round of [1, 2, 10]) {
        const at = origin + round * BAR + off;
        const from = ms < 0 ? -2 * MS : 0;
        const heard = p.left.slice(at + from, at + BEAT - 60 * MS);
        const played = heard.map((_, i) => struck(off + from + i) + room(off + from + i));
        expect(peakIn(heard)).toBeGreaterThan(0.49);
        expect(firstDifference(heard, played)).toBe(-1);
      }
      const repeat = (n: number) => p.left.slice(origin + n * BAR - 50 * MS, origin + (n + 1) * BAR - 70 * MS);
      expect(firstDifference(repeat(10), repeat(2))).toBe(-1);
      // From where the lead is in full: what it comes in over is the player's own silence at first, the loop's end later.
      const whole = (n: number) => repeat(n).subarray(ms < 0 ? (50 + ms) * MS - 2 * MS : 50 * MS);
      expect(firstDifference(whole(1), whole(2))).toBe(-1);
    },
  );

  test('a chair in the count-in is not led in', () => {
    const playing = strokes(beats(3 * MS).slice(4), { level: 0.5, decay: 3000 });
    const chair = strokes([-30 * MS], { level: 0.01, decay: 500, seed: 5 });
    const { p, origin } = loopOf((frame) => playing(frame) + chair(frame) + room(frame), 2);
    const line = origin + BAR;
    expect(peakIn(p.left.slice(line - 30 * MS, line - 2 * MS))).toBeLessThan(0.001);
  });

  test('a held sound comes in over 10 ms', () => {
    const held = (frame: number): number => 0.25 * Math.sin((2 * Math.PI * 437.3 * frame) / RATE);
    const { p, origin } = loopOf(held, 1);
    const { fadeIn } = crossfadeTables(frames(480), 0);
    const heard = p.left.slice(origin + BAR - 480, origin + BAR);
    expect(
      firstDifference(
        heard,
        heard.map((_, i) => Math.fround(held(i - 480)) * (fadeIn[i] ?? 0)),
      ),
    ).toBe(-1);
    expect(p.left[origin + BAR - 481]).toBe(0);
  });
});

describe('an opening that is told', () => {
  const early: Seam = {
    ...NO_SEAM,
    kind: 'early-attack',
    leadFrames: frames(1680),
    fadeInFrames: frames(96),
    tailFrames: frames(-1584),
    fadeOutFrames: frames(96),
  };
  const struck = strokes(beats(-30 * MS), { level: 0.5, decay: 3000 });

  /** @param position from line 0, in frames; null: nothing is told. */
  function toldAt(position: number | null): Loop {
    const p = new Performance({ outputDelay: 2000, roundTrip: 3000 });
    p.useProgram(programOf({ bpm: BPM }));
    p.rules(1);
    p.pressAt(1000);
    const { origin } = p;
    p.play = (heard) => Math.fround(struck(heard - origin));
    if (position !== null) {
      p.runUntil(origin + position);
      p.handle({ type: 'set-opening', voice: 1, opening: early });
    }
    p.runUntil(origin + 4 * BAR);
    return { p, origin };
  }
  const attack = ({ p, origin }: Loop, round: number): Float32Array =>
    p.left.slice(origin + round * BAR - 30 * MS, origin + round * BAR + 100 * MS);
  const played = (loop: Loop): Float32Array => attack(loop, 1).map((_, i) => struck(-30 * MS + i));

  test('before its lead would begin holds from the first repeat on', () => {
    const loop = toldAt(BAR - 2000);
    expect(firstDifference(attack(loop, 1), played(loop))).toBe(-1);
  });

  test('while the body sounds holds from the second on', () => {
    const loop = toldAt(BAR + 2000);
    expect(firstDifference(attack(loop, 1), played(loop))).not.toBe(-1);
    expect(firstDifference(attack(loop, 2), played(loop))).toBe(-1);
  });

  test.each([BAR - 1000, BAR - 200])('while a lead would be under way, at %i, changes nothing', (position) => {
    const { p } = toldAt(position);
    expect(firstDifference(p.left, toldAt(null).p.left)).toBe(-1);
  });

  test('of a voice that nobody records is let go', () => {
    const p = new Performance({});
    p.useProgram(programOf());
    p.handle({ type: 'set-opening', voice: 7, opening: early });
    expect(p.all('refused')).toEqual([]);
  });
});
