/** What a recording keeps before a pass and after it, as the engine records it. */
import { describe, expect, test } from 'vitest';
import { frames } from '../../../src/core/units/index.js';
import { Performance } from '../../support/performance.js';
import { programOf } from '../../support/programs.js';
import { noiseAt } from '../../support/signals.js';

const RATE = 48_000;
/** 4/4 at 96. */
const BAR = 120_000;
const BEAT = BAR / 4;

/** Records two bars over a count-in; `sound` counts from the closing line. @returns seconds kept after it. */
function keptAfter(
  sound: (seconds: number) => number,
  during: (p: Performance, line: number) => void = () => undefined,
) {
  const p = new Performance();
  p.useProgram(programOf());
  p.rules(2);
  p.pressAt(1000);
  const line = p.origin + 2 * BAR;
  p.play = (heard) => Math.fround(sound((heard - line) / RATE));
  p.runUntilReport('layer-closed');
  during(p, line);
  const { bodyStart, bodyFrames } = p.last('layer-closed');
  return (p.runUntilReport('recording-ended').frames - bodyStart - bodyFrames) / RATE;
}

const hiss = (seconds: number, level: number): number => level * noiseAt(Math.round(seconds * RATE), 4);
/** A tone struck a beat before the line that falls by so many dB in a second, in a quiet room. */
const struck = (fall: number) => (seconds: number) => {
  const since = seconds + BEAT / RATE;
  const tone = since < 0 ? 0 : 0.3 * 10 ** ((-fall * since) / 20) * Math.sin(2 * Math.PI * 220 * since);
  return tone + hiss(seconds, 0.0001);
};

describe('after the closing line a recording goes on', () => {
  test.each([
    ['four seconds in a silent room', (seconds: number) => hiss(seconds, 0.0001), 4, 4.01],
    ['four seconds in a loud room', (seconds: number) => hiss(seconds, 0.02), 4, 4.11],
    ['four seconds where somebody plays on', (seconds: number) => 0.3 * Math.sin(1000 * seconds), 4, 4.11],
    ['four seconds after a note that has rung out', struck(30), 4, 4.11],
    ['as long as a chord rings that is lost after 8 s', struck(6), 7.5, 8.3],
    ['twelve seconds where one rings for longer', struck(4.05), 11.4, 12.01],
  ])('%s', (_what, sound, least, most) => {
    const kept = keptAfter(sound);
    expect(kept).toBeGreaterThanOrEqual(least);
    expect(kept).toBeLessThan(most);
  });

  test('until something new is struck over the ring', () => {
    const again = (seconds: number) =>
      struck(4.1)(seconds) + (seconds > 6 ? struck(4.1)(seconds - 6 - BEAT / RATE) : 0);
    const kept = keptAfter(again);
    expect(kept).toBeGreaterThan(6);
    expect(kept).toBeLessThan(6.5);
  });

  test('not at all once the pass after it, which alone held it on, is left off', () => {
    const kept = keptAfter(
      (seconds) => hiss(seconds, 0.0001),
      (p, line) => {
        p.pressAt(line + BAR);
        p.runUntil(line + BAR + 5 * RATE);
        p.handle({ type: 'take-back', heard: frames(p.heard) });
      },
    );
    expect(kept).toBeLessThan((BAR + 5 * RATE) / RATE + 0.2);
  });
});

describe('before a pass a recording keeps', () => {
  test.each([
    [96, 2],
    [60, 2.25],
    [40, 3.25],
    [30, 4.25],
  ])('at %i a minute %f s: two beats and what a listener needs to hear them, two seconds at least', (bpm, seconds) => {
    const p = new Performance();
    p.useProgram(programOf({ bpm }));
    p.rules(1);
    p.pressAt(RATE);
    expect(p.runUntilReport('layer-closed').bodyStart / RATE).toBeCloseTo(seconds, 6);
  });

  test('two felt beats of 5/4 as 3+2, which are quarters', () => {
    const p = new Performance();
    p.useProgram(programOf({ bpm: 60, metre: { num: 5, den: 4, groups: [3, 2] } }));
    p.rules(1);
    p.pressAt(RATE);
    expect(p.runUntilReport('layer-closed').bodyStart / RATE).toBeCloseTo(2.25, 6);
  });

  test('no more than the ring holds', () => {
    const p = new Performance({ ringSeconds: 3 });
    p.useProgram(programOf({ bpm: 30 }));
    p.rules(1);
    p.pressAt(RATE);
    p.runUntilReport('layer-closed');
    const started = p.last('recording-started').at;
    expect(started).toBeGreaterThanOrEqual(0);
    expect(p.all('fault')).toEqual([]);
  });
});
