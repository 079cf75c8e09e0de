/** The lock: hours later everything is where it was, to the bit, and what loops never drifts. */
import { describe, expect, test } from 'vitest';
import fc from 'fast-check';
import { ProgramGrid } from '../../../src/core/program/program-grid.js';
import type { Program } from '../../../src/core/program/program.js';
import { bars, frames } from '../../../src/core/units/index.js';
import type { DrawnVoice } from '../../support/drawn-voices.js';
import { audibleVoices, audioOf, drawnVoice } from '../../support/drawn-voices.js';
import { Performance } from '../../support/performance.js';
import { greatestError, referenceVoices } from '../../support/reference-mixer.js';
import { crossfaded, rowProgram } from '../../support/row-programs.js';
import { firstDifference } from '../../support/signals.js';
import { SongPage } from '../../support/song-page.js';

const HOURS = 3600 * 96_000;
/** Handles above those of what the engine records itself. */
const STORED = 1000;
/** All of it beyond 2³¹, the last more than 2³² + 2³¹ by far. */
const LONG_AGO = [7 * HOURS, 10 * HOURS, 13 * HOURS + 12_345, 60 * HOURS + 7];

/** Somebody has closed a loop without a tempo; the page has found one, and says that line 0 was at `origin`. */
function joined(
  program: Program,
  audio: ReadonlyMap<number, Float32Array>,
  origin: number,
  rate = 96_000,
): Performance {
  const p = new Performance({ rate, blockSize: () => 480 });
  for (const [handle, samples] of audio) p.stored.set(handle, [[...samples]]);
  p.useProgram(rowProgram({ grid: gridOf(48_000, rate), voices: [], revision: 1 }));
  p.rules(null, 1, { withoutTempo: true });
  p.pressAt(1000);
  p.pressAt(1000 + rate / 2);
  p.useProgram({ ...program, revision: 2 });
  p.runUntil(p.rendered + rate / 10);
  p.handle({ type: 'join', origin: frames(origin) });
  return p;
}

const gridOf = (barFrames: number, rate = 48_000) => ({ rate, barFrames, pulses: 4, beats: 0b1111 });

describe('hours after line 0', () => {
  test.each(LONG_AGO)('%i frames: the sum is what the plain mixer says', (ago) => {
    const drawn: readonly DrawnVoice[] = [1, 3, 4, 5, 8].map((length, i) => ({
      bars: length,
      lead: i / 5,
      tail: [0, -0.2, 0.4, 0.9, 2.3][i]!,
      fadeIn: 0.5,
      fadeOut: 0.7,
      before: 0.3,
      rotated: -i,
      ends: null,
      level: 1,
      pan: i / 4,
      correlation: 0,
    }));
    const rows = audibleVoices(drawn, 2011, STORED);
    const audio = audioOf(rows);
    const program = rowProgram({ grid: gridOf(2011), voices: rows });
    const p = joined(program, audio, -ago);
    const from = p.rendered + 2 * 480 + 960;
    p.runUntil(from + 30_000);
    expect(p.origin).toBe(-ago);
    const parts = [{ origin: -ago, voices: referenceVoices(program, (handle) => audio.get(handle)!) }];
    expect(greatestError(p, parts, from, from + 29_000)).toBeLessThanOrEqual(1e-7);
    expect(p.left.slice(from, from + 29_000).some((sample) => sample !== 0)).toBe(true);
  });

  test('it sounds as it did in the first minute, to the bit', () => {
    fc.assert(
      fc.property(
        fc.array(
          drawnVoice.map((drawn) => ({ ...drawn, ends: null })),
          { minLength: 1, maxLength: 5 },
        ),
        fc.integer({ min: 300, max: 900 }),
        fc.integer({ min: 1, max: 9 }),
        (drawn, barFrames, share) => {
          const rows = audibleVoices(drawn, barFrames, STORED);
          const audio = audioOf(rows);
          const program = rowProgram({ grid: gridOf(barFrames), voices: rows });
          // Every drawn body divides 120 bars.
          const round = 120 * barFrames;
          const near = joined(program, audio, -2 * round - 100);
          const far = joined(program, audio, -2 * round - 100 - Math.floor((share * HOURS) / round) * round);
          for (const p of [near, far]) p.runUntil(p.rendered + 20_000);
          expect(firstDifference(far.left.slice(0, far.rendered - 500), near.left.slice(0, far.rendered - 500))).toBe(
            -1,
          );
        },
      ),
      { numRuns: 8 },
    );
  });

  test.each(LONG_AGO)('%i frames: the click falls on the beats, and a pass lies where it was played', (ago) => {
    const barFrames = 48_007;
    // A layer that is silent holds line 0 where it is: over a click alone, the first pass begins at it.
    const silent = { id: STORED, audio: STORED, bodyStart: 0, bodyFrames: barFrames };
    const audio = new Map([[STORED, new Float32Array(barFrames)]]);
    const p = joined(rowProgram({ grid: gridOf(barFrames), voices: [silent] }), audio, -ago);
    p.handle({ type: 'set-click', playing: true, gain: 0.25 as never });
    const played = (heard: number): number => Math.fround(0.1 * Math.sin(heard * 0.37) * Math.sin(heard * 0.0011));
    p.play = played;
    const line = Math.ceil((p.rendered + ago) / barFrames) + 1;
    p.rules(1);
    p.pressAt(line * barFrames - ago - 9000);
    const closed = p.runUntilReport('layer-closed');
    expect(closed.at - closed.bodyFrames).toBe(line * barFrames - ago);
    expect(p.last('recording-started').at + closed.bodyStart).toBe(line * barFrames - ago + p.roundTrip);
    p.runUntil(closed.at + barFrames);
    // The loop itself, but for its seam.
    const body = p.house.slice(closed.at, closed.at + barFrames - 960);
    expect(
      firstDifference(
        body,
        body.map((_, i) => played(line * barFrames - ago + i)),
      ),
    ).toBe(-1);
    for (const pulse of [0, 1, 2, 3]) {
      const beat = closed.at + Math.round((pulse * barFrames) / 4);
      expect(p.left[beat - 1]).toBe(p.house[beat - 1]);
      expect(p.left[beat]).not.toBe(p.house[beat]);
    }
  });

  test('bar lines are whole bars from line 0, and every frame has its bar', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 4000, max: 2_000_000 }),
        fc.integer({ min: 0, max: 60 * HOURS }),
        fc.integer({ min: 1, max: 32 }),
        (barFrames, position, pulses) => {
          const program = rowProgram({ grid: { rate: 96_000, barFrames, pulses, beats: 1 }, voices: [] });
          const grid = new ProgramGrid(program.stretches);
          const bar = Math.floor(position / barFrames);
          expect(grid.barAt(position)).toBe(bar);
          expect(grid.lineOf(bars(bar))).toBe(bar * barFrames);
          expect(grid.barAt(bar * barFrames - 1)).toBe(bar - 1);
          expect(grid.pulseOf(bar, pulses - 1)).toBe(
            bar * barFrames + Math.floor(((pulses - 1) * barFrames) / pulses + 0.5),
          );
        },
      ),
    );
  });
});

describe('a loop', () => {
  test('of ten minutes of layers of 3, 4, 5 and 8 bars is the same to the bit in every round', () => {
    const barFrames = 12_000;
    const drawn = [3, 4, 5, 8].map((length, i) => ({
      ...PLAIN,
      bars: length,
      tail: i / 4,
      fadeOut: 0.9,
      fadeIn: 0.5,
      lead: 0.2,
    }));
    const rows = audibleVoices(drawn, barFrames, 1);
    const p = new Performance();
    for (const [handle, samples] of audioOf(rows)) p.stored.set(handle, [[...samples]]);
    p.useProgram(rowProgram({ grid: gridOf(barFrames), voices: rows }));
    p.runUntil(1000);
    p.handle({ type: 'play', heard: frames(0) });
    // Once round with the page, which brings all of the audio; from then on the engine alone.
    const round = 120 * barFrames;
    p.runUntil(p.origin + round);
    const minutes = 10 * 60 * 48_000;
    const one = new Float32Array(round);
    const block = [new Float32Array(4800), new Float32Array(4800)] as const;
    let different = 0;
    for (let at = 0; at < round + minutes; at += 4800) {
      p.engine.process([], block, null, 4800);
      const place = at % round;
      if (at < round) one.set(block[0], place);
      else for (let i = 0; i < 4800; i++) if (block[0][i] !== one[place + i]) different++;
    }
    expect(different).toBe(0);
    expect(one.some((sample) => sample !== 0)).toBe(true);
    expect(p.all('fault')).toEqual([]);
  }, 60_000);

  // Source: check values 3: a periodic signal whose period divides the loop, 8 rounds against one long render, 1e-6.
  test('of a tone whose period divides it is that tone, round after round, within 1e-6', () => {
    const p = new Performance();
    const page = new SongPage(p, gridOf(24_000));
    const tone = (heard: number): number => Math.fround(0.3 * Math.sin((2 * Math.PI * heard) / 480));
    p.play = tone;
    page.send();
    p.rules(4);
    p.pressAt(1000);
    page.take(p.runUntilReport('layer-closed'));
    const [layer] = page.layers;
    // The two sides of the seam are the same: a correlation of 1, a straight fade.
    const seam = crossfaded(480, 1);
    const { voice: id, audio, bodyStart, bodyFrames } = layer!;
    const voice = { id, audio, bodyStart, bodyFrames, ...seam };
    p.useProgram(rowProgram({ grid: page.grid, voices: [voice], revision: 2, passesKnown: 1 }));
    const from = p.rendered + 480;
    p.runUntil(from + 8 * bodyFrames + 200);
    let greatest = 0;
    for (let i = from; i < from + 8 * bodyFrames; i++) greatest = Math.max(greatest, Math.abs(p.left[i]! - tone(i)));
    expect(greatest).toBeLessThan(1e-6);
  });

  // Source: check values 1: at 93 a minute and 44.1 kHz loops of one and four bars, each rounded by itself, are 58 frames
  // apart after five minutes.
  test('of one bar and one of four at 93 a minute fall together after five minutes, to the frame', () => {
    const barFrames = Math.round((4 * 60 * 44_100) / 93);
    const grid = gridOf(barFrames, 44_100);
    const strike = (length: number): Float32Array => Float32Array.from({ length }, (_, i) => (i === 1000 ? 0.2 : 0));
    const audio = new Map([1, 4].map((length) => [STORED + length, strike(1000 + length * barFrames)]));
    const voices = [1, 4].map((length) => ({
      id: STORED + length,
      audio: STORED + length,
      bodyStart: 1000,
      bodyFrames: length * barFrames,
    }));
    const fiveMinutes = 5 * 60 * 44_100;
    const p = joined(rowProgram({ grid, voices }), audio, -fiveMinutes, 44_100);
    const from = p.rendered + 2000;
    p.runUntil(from + 5 * barFrames);
    const struck = [...p.left.keys()].filter((i) => i >= from && i < from + 4 * barFrames && p.left[i] !== 0);
    // A line every bar; where the four bars begin, both.
    expect(struck.map((i) => (i + fiveMinutes) % barFrames)).toEqual([0, 0, 0, 0]);
    for (const i of struck) expect(p.left[i]).toBeCloseTo((i + fiveMinutes) % (4 * barFrames) === 0 ? 0.4 : 0.2, 6);
  });
});

const PLAIN: DrawnVoice = {
  bars: 1,
  lead: 0,
  tail: 0,
  fadeIn: 0,
  fadeOut: 0,
  before: 0,
  rotated: 0,
  ends: null,
  level: 1,
  pan: 0.5,
  correlation: 0,
};
