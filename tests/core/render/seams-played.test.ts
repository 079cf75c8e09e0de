/** Seams as they are heard: recorded, listened to, compiled and played by the engine, round after round. */
import { describe, expect, test } from 'vitest';
import type { SeamWish } from '../../../src/core/seam/hear.js';
import type { SeamKind } from '../../../src/core/seam/seam.js';
import { frames, gainFromDecibels, decibels } from '../../../src/core/units/index.js';
import { BARS, BEAT, BODY, looped } from '../../support/looped.js';
import { programOf } from '../../support/programs.js';
import { firstDifference, largestStep, noiseAt, strokes } from '../../support/signals.js';
import { pluckedString, seededNoise } from '../../support/tones.js';

const RATE = 48_000;
const MS = RATE / 1000;

/** Frame of line 0 of a round, round 0 being the one that is recorded. */
const lineOf = (origin: number, round: number): number => origin + round * BODY;

const rms = (samples: Float32Array): number =>
  Math.sqrt(samples.reduce((sum, sample) => sum + sample * sample, 0) / samples.length);
const levelIn = (samples: Float32Array): number => 20 * Math.log10(rms(samples));

/** Levels of 10 ms each, half overlapping, from 30 ms before a line to 30 ms after it. */
function levelsRound(out: Float32Array, line: number): number[] {
  return Array.from({ length: 11 }, (_, k) => {
    const from = line - 30 * MS + k * 5 * MS;
    return levelIn(out.subarray(from, from + 10 * MS));
  });
}

/** First frame of [from, to), counted from an engine frame, at which something else came out than expected; null for none. */
function firstWrong(
  out: Float32Array,
  at: number,
  from: number,
  to: number,
  expected: (i: number) => number,
): number | null {
  for (let i = from; i < to; i++) if (out[at + i] !== Math.fround(expected(i))) return i;
  return null;
}

/** Samples reach the engine as 32 bits. */
const captured = (sound: (frame: number) => number) => (frame: number) => Math.fround(sound(frame));

const quiet = (frame: number): number => 0.0003 * noiseAt(frame, 99);

describe('a sound that goes on over the line, played on', () => {
  // 5 s hold 2,200 periods and a part more: the parts say how alike the two sides of the seam are.
  test.each([
    [440, 1],
    [440.02, 0.81],
    [440.04, 0.31],
    [440.05, 0],
  ])('a tone of %d Hz, whose sides are alike by %d, keeps its level within 1 dB and has no step', (hertz, alike) => {
    const sound = (frame: number) => 0.25 * Math.sin((2 * Math.PI * hertz * frame) / RATE);
    const { p, origin, seam } = looped({ sound, playedOn: true });
    expect(seam.kind).toBe('crossfade');
    expect(seam.fadeInShape).toBeCloseTo(alike, 1);
    p.runUntil(lineOf(origin, 5));
    const out = p.left;
    const own = largestStep(
      Float32Array.from({ length: 1000 }, (_, i) => sound(i)),
      0,
      1000,
    );
    // Condition: the correlation at the seam is not below 0. Rounded to 32 bits, steps differ by 1e-7.
    expect(largestStep(out, lineOf(origin, 2) - BEAT, lineOf(origin, 4) + BEAT)).toBeLessThanOrEqual(own + 1e-6);
    for (const round of [2, 3, 4]) {
      for (const level of levelsRound(out, lineOf(origin, round))) {
        expect(Math.abs(level - 20 * Math.log10(0.25 / Math.SQRT2))).toBeLessThan(1);
      }
    }
  });

  test('a bed of noise keeps its level within 1 dB, on average over eight beds, and steps no farther than it does itself', () => {
    const beds = 8;
    const power = new Float64Array(11);
    let squares = 0;
    for (let bed = 0; bed < beds; bed++) {
      // The sum of four even noises is nearly normal: the sum of two beds, each faded, is a bed like any other.
      const sound = (frame: number) => [1, 2, 3, 4].reduce((sum, k) => sum + 0.05 * noiseAt(frame, 4 * bed + k), 0);
      const { p, origin, seam } = looped({ sound, playedOn: true });
      expect(seam.kind).toBe('crossfade');
      p.runUntil(lineOf(origin, 2) + BEAT);
      const out = p.left;
      const own = Float32Array.from({ length: BODY }, (_, i) => sound(i));
      squares += rms(own) ** 2 / beds;
      expect(largestStep(out, lineOf(origin, 2) - BEAT, lineOf(origin, 2) + BEAT)).toBeLessThanOrEqual(
        largestStep(own, 0, BODY),
      );
      levelsRound(out, lineOf(origin, 2)).forEach((level, k) => {
        power[k] = (power[k] ?? 0) + 10 ** (level / 10) / beds;
      });
    }
    for (const each of power) expect(Math.abs(10 * Math.log10(each / squares))).toBeLessThan(1);
  });
});

describe('an attack near the line', () => {
  test.each([-30, -5, 0, 12, 30])('%i ms from it sounds whole at every round, sample for sample', (ms) => {
    const off = ms * MS;
    const beats = Array.from({ length: 20 }, (_, beat) => (beat - 4) * BEAT + off);
    const struck = strokes(beats, { level: 0.3, decay: 3000 });
    const sound = (frame: number) => struck(frame) + quiet(frame);
    const { p, origin, seam } = looped({ sound, playedOn: true });
    p.runUntil(lineOf(origin, 5));
    const out = p.left;
    expect(seam.kind).toBe(ms < 0 ? 'early-attack' : 'crossfade');
    for (const round of [2, 3, 4]) {
      const at = lineOf(origin, round) + off;
      // From 2 ms before the attack to the next beat.
      const from = ms < 0 ? -2 * MS : 0;
      expect(firstWrong(out, at, from, BEAT - 20 * MS, (i) => sound(off + i))).toBeNull();
    }
  });
});

describe('a chord struck on the last beat by a player who then stops', () => {
  const strings = [110, 164.8, 220].map((hertz) => pluckedString(RATE, hertz, 1.2, 3));
  const chord = (frame: number) =>
    0.2 * strings.reduce((sum, string) => sum + string((frame - BODY + BEAT) / RATE), 0) + quiet(frame);

  const ringing = (i: number) => captured(chord)(i) + captured(chord)(BODY + i);

  test('rings on over the next round, and was not there the first time', () => {
    const { p, origin, seam } = looped({ sound: chord, playedOn: null });
    expect(seam.kind).toBe('let-ring');
    expect(seam.tailFrames).toBeGreaterThan(RATE);
    p.runUntil(lineOf(origin, 5));
    const out = p.left;
    const span = Math.min(seam.tailFrames - 480, BODY - BEAT);
    expect(levelIn(out.subarray(lineOf(origin, 1), lineOf(origin, 1) + RATE))).toBeLessThan(-70);
    for (const round of [2, 3, 4]) {
      const at = lineOf(origin, round);
      expect(firstWrong(out, at, 0, span, ringing)).toBeNull();
    }
    const own = largestStep(
      Float32Array.from({ length: BODY }, (_, i) => chord(i)),
      0,
      BODY,
    );
    expect(largestStep(out, lineOf(origin, 2) - BEAT, lineOf(origin, 4))).toBeLessThanOrEqual(1.01 * own);
  });

  test('is not there the first time either when playing starts again from the top; at the end its ring goes on', () => {
    const { p, seam } = looped({ sound: chord, playedOn: null });
    p.handle({ type: 'stop', heard: frames(p.heard) });
    p.runUntil(p.rendered + RATE);
    p.pressAt(p.heard + RATE);
    const again = p.origin;
    p.runUntil(lineOf(again, 2) + BEAT);
    const out = p.left;
    expect(levelIn(out.subarray(again, again + RATE))).toBeLessThan(-65);
    expect(firstWrong(out, lineOf(again, 1), 0, BEAT, ringing)).toBeNull();
    expect(seam.tailFrames).toBeGreaterThan(BEAT);
  });

  test('is cut at the line where the player asks for a crossfade', () => {
    const wish: SeamWish = { chosen: 'crossfade', pickup: false };
    const { p, origin } = looped({ sound: chord, playedOn: null, wish });
    p.runUntil(lineOf(origin, 3));
    expect(levelIn(p.left.subarray(lineOf(origin, 2) + 480, lineOf(origin, 2) + RATE))).toBeLessThan(-70);
  });
});

describe('a pickup before the first line', () => {
  const PICKUP = -BEAT;
  const string = pluckedString(RATE, 330, 0.12);
  const played = (frame: number) =>
    string((frame - PICKUP) / RATE) +
    [0, 1, 2, 3, 4, 5, 6].reduce((sum, beat) => sum + string((frame - beat * BEAT) / RATE), 0) +
    quiet(frame);
  const wish: SeamWish = { chosen: null, pickup: true };

  test('that is marked sounds over the end, once at every round, and before the top when playing starts there', () => {
    const { p, origin, seam } = looped({ sound: played, playedOn: null, wish });
    expect(seam.kind).toBe('pickup');
    p.runUntil(lineOf(origin, 4));
    const out = p.left;
    for (const round of [2, 3]) {
      const line = lineOf(origin, round);
      const both = (i: number) => captured(played)(BODY + i) + captured(played)(i);
      expect(firstWrong(out, line, -BEAT, -480, both)).toBeNull();
    }
    p.handle({ type: 'stop', heard: frames(p.heard) });
    p.runUntil(p.rendered + RATE);
    p.pressAt(p.heard + RATE);
    p.runUntil(p.origin + BEAT);
    expect(firstWrong(p.left, p.origin, -BEAT, 0, played)).toBeNull();
  });

  test('that is not marked is left out', () => {
    const { p, origin, seam } = looped({ sound: played, playedOn: null });
    expect(seam.kind).not.toBe('pickup');
    p.runUntil(lineOf(origin, 3));
    const heard = p.left.subarray(lineOf(origin, 2) - BEAT, lineOf(origin, 2) - 60 * MS);
    expect(levelIn(heard)).toBeLessThan(-60);
  });
});

describe('round after round', () => {
  const noise = seededNoise(4);
  const bed = Float32Array.from({ length: 4 * BODY }, () => 0.1 * noise());
  const strings = [110, 220].map((hertz) => pluckedString(RATE, hertz, 0.6, 3));
  const sound = (frame: number) => (bed[frame + BODY] ?? 0) + (strings[0]?.((frame + 30 * MS) / RATE) ?? 0);

  test.each<SeamKind>(['crossfade', 'early-attack', 'pickup', 'let-ring'])(
    'the tenth equals the second to the bit: %s',
    (chosen) => {
      const wish: SeamWish = { chosen, pickup: chosen === 'pickup' };
      const { p, origin } = looped({ sound, playedOn: null, wish });
      p.runUntil(lineOf(origin, 11) + BEAT);
      const round = (n: number) => p.left.slice(lineOf(origin, n), lineOf(origin, n + 1));
      expect(rms(round(2))).toBeGreaterThan(0.01);
      expect(firstDifference(round(10), round(2))).toBe(-1);
    },
  );
});

describe('a pass of two channels', () => {
  test('makes two layers of one alignment, each of its own channel', () => {
    const { p, origin, closed, layer, seam } = looped({ sound: quiet, playedOn: true, channels: 2 });
    const line = lineOf(origin, 4);
    const guitar = strokes([line + 100, line + BEAT + 17, line + 5 * BEAT], { seed: 3 });
    const voice = strokes([line + BEAT / 2, line + 3 * BEAT], { seed: 4 });
    p.play = guitar;
    p.playOn = (channel, heard) => (channel === 1 ? voice(heard) : 0);
    p.rules(BARS, 1, { channels: [0, 1] });
    p.pressAt(line);
    const pass = p.runUntilReport('layer-closed', (report) => report.pass !== closed.pass);
    expect(pass.channels).toEqual([0, 1]);
    const { audio, bodyStart, bodyFrames } = pass;
    const layers = pass.channels.map((channel, part) => ({
      ...{ voice: pass.pass + part, audio, channel, bodyStart, bodyFrames, bars: BARS, seam },
    }));
    p.useProgram(programOf({ sectionBars: BARS, layers: [layer, ...layers] }, 3, pass.pass + 1));
    p.runUntil(lineOf(origin, 9));
    const at = lineOf(origin, 8);
    const sum = (i: number) => captured(quiet)(i) + guitar(line + i) + voice(line + i);
    expect(firstWrong(p.left, at, 0, BODY - 480, sum)).toBeNull();
  });
});

describe('another take', () => {
  test('takes the place of the old one while it is recorded, and the old one comes back when it is taken back', () => {
    const old = strokes([0, BEAT, 3 * BEAT, 4 * BEAT, 6 * BEAT], { seed: 5 });
    const { p, origin, closed, layer, seam } = looped({ sound: (frame) => old(frame), playedOn: null });
    const line = lineOf(origin, 3);
    const fresh = strokes([line + 50, line + 2 * BEAT, line + 5 * BEAT], { seed: 6 });
    p.play = fresh;
    p.rules(BARS, 1, { replaces: closed.pass });
    p.pressAt(line);
    // What was rendered before the press was heard cannot be silenced any more.
    const pressed = p.rendered;
    const pass = p.runUntilReport('layer-closed', (report) => report.pass !== closed.pass);
    expect(pass).toMatchObject({ replaces: closed.pass, startBar: 3 * BARS, bars: BARS });
    const take = { voice: pass.pass, audio: pass.audio, bodyStart: pass.bodyStart, bodyFrames: BODY, bars: BARS, seam };
    p.useProgram(programOf({ sectionBars: BARS, layers: [take] }, 3, pass.pass));
    p.runUntil(lineOf(origin, 6) + BEAT);
    // Taken back: the layer plays its old take again, under the voice it has now.
    p.useProgram(programOf({ sectionBars: BARS, layers: [{ ...layer, voice: pass.pass }] }, 4, pass.pass));
    const back = p.rendered;
    p.runUntil(lineOf(origin, 8));
    const out = p.left;
    const wrongIn = (from: number, to: number, expected: (frame: number) => number) =>
      firstWrong(out, 0, from, to, expected);
    const oldAt = (frame: number) => old((frame - origin) % BODY);
    const freshAt = (frame: number) => fresh(line + ((frame - line) % BODY));
    expect(wrongIn(lineOf(origin, 2), line - 480, oldAt)).toBeNull();
    expect(wrongIn(pressed + 10 * MS, lineOf(origin, 4) - 60 * MS, () => 0)).toBeNull();
    expect(wrongIn(lineOf(origin, 4) + 480, lineOf(origin, 5) - 60 * MS, freshAt)).toBeNull();
    expect(wrongIn(back + 10 * MS, lineOf(origin, 7) - 60 * MS, oldAt)).toBeNull();
    const own = Math.max(
      largestStep(out, lineOf(origin, 2), line - 480),
      largestStep(out, line + BODY, line + 2 * BODY),
    );
    expect(largestStep(out, lineOf(origin, 2), lineOf(origin, 8))).toBeLessThanOrEqual(own);
  });
});

describe('layers that recede', () => {
  test('are as much quieter as there are layers after them, the first excepted, and come back with a pass taken back', () => {
    const tone = (hertz: number) => (frame: number) => 0.1 * Math.sin((2 * Math.PI * hertz * frame) / RATE);
    const { p, origin, layer } = looped({ sound: tone(400), playedOn: true });
    const of = (count: number) => Array.from({ length: count }, (_, index) => ({ ...layer, voice: 100 + index }));
    const levelWith = (count: number, recede: number, revision: number): number => {
      p.useProgram(programOf({ sectionBars: BARS, layers: of(count), recede }, revision, layer.voice));
      const from = p.rendered + 20 * MS;
      p.runUntil(from + RATE);
      return rms(p.left.slice(from, from + RATE)) / (0.1 / Math.SQRT2);
    };
    p.runUntil(lineOf(origin, 2));
    const gain = (value: number) => gainFromDecibels(decibels(value));
    // All of them are the same tone, so that their gains add up.
    expect(levelWith(3, 0, 3)).toBeCloseTo(3, 3);
    expect(levelWith(3, 6, 4)).toBeCloseTo(1 + gain(-6) + 1, 3);
    expect(levelWith(4, 6, 5)).toBeCloseTo(1 + gain(-12) + gain(-6) + 1, 3);
    expect(levelWith(3, 6, 6)).toBeCloseTo(1 + gain(-6) + 1, 3);
  });
});
