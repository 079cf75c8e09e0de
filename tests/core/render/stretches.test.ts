import { describe, expect, test } from 'vitest';
import { playing, barProgram, CLICK, knocksBetween, placesBetween, readyToPlay } from '../../support/bar-programs.js';
import { strokes } from '../../support/signals.js';
import { free, gradual, holdBeats, metre, steady, tempo } from '../meter/given.js';

/** A quarter at 120, and a bar of four of them. */
const Q = 24_000;
const BAR = 4 * Q;
const common = metre(4, 4);

describe('the engine over a section with odd bars', () => {
  /** Two bars of 4/4, one of 2/4: a round of ten quarters. */
  const odd = [steady(2, common, tempo(120)), steady(1, metre(2, 4), tempo(120))];
  const ROUND = 10 * Q;

  test('counts in in the first bar, and clicks on every beat of every round', () => {
    const p = readyToPlay(barProgram(odd));
    p.rules(3, 2);
    p.pressAt(p.heard + 1000);
    p.runUntil(p.origin + 2 * ROUND + 3000);
    const beats = Array.from({ length: 28 }, (_, i) => (i - 8) * Q);
    const heard = knocksBetween(p, -2 * BAR, 2 * ROUND);
    expect(heard.map(({ at }) => at)).toEqual(beats);
    const firsts = heard.filter(({ level }) => Math.abs(level - CLICK) < 1e-6).map(({ at }) => at);
    expect(firsts).toEqual([-8, -4, 0, 4, 8, 10, 14, 18].map((i) => i * Q));
  });

  test('passes begin and end with the rounds, and the loop comes round with every frame where it was played', () => {
    const p = readyToPlay(barProgram(odd));
    p.rules(3, 1);
    p.pressAt(p.heard + 1000);
    const { origin } = p;
    p.play = strokes(
      Array.from({ length: 20 }, (_, i) => origin + i * Q + 37 * i),
      { seed: 4 },
    );
    p.pressAt(origin + BAR);
    const closed = p.runUntilReport('layer-closed', ({ startBar }) => startBar === 3);
    expect(p.all('layer-closed').map(({ startBar, bars, bodyFrames }) => [startBar, bars, bodyFrames])).toEqual([
      [0, 3, ROUND],
      [3, 3, ROUND],
    ]);
    expect(closed.bodyStart - (p.all('layer-closed')[0]?.bodyStart ?? NaN)).toBe(ROUND);
    p.runUntil(origin + 3 * ROUND);
    // Both layers together, from the third round on; the click sounds too, but not in the house.
    let wrong = 0;
    for (let i = 0; i < ROUND - 480; i++) {
      const expected = Math.fround(p.play(origin + i) + p.play(origin + ROUND + i));
      if (p.house[origin + 2 * ROUND + i] !== expected) wrong++;
    }
    expect(wrong).toBe(0);
  });

  test('a press closes an open pass at the line nearest to it, of a bar that is as long as it is', () => {
    // Heard 30,000 frames into bar 2, of 2/4: past its middle. Bar 3 is of 4/4 again: 30,000 is before its middle.
    for (const [pressed, bars, length] of [
      [8 * Q + 30_000, 3, ROUND],
      [10 * Q + 30_000, 3, ROUND],
      [8 * Q + 20_000, 2, 2 * BAR],
    ] as const) {
      const p = readyToPlay(barProgram(odd));
      p.rules(null, 1);
      p.pressAt(p.heard + 1000);
      p.pressAt(p.origin + pressed);
      expect(p.runUntilReport('layer-closed')).toMatchObject({ bars, bodyFrames: length });
    }
  });
});

describe('the engine over a form', () => {
  const form = [
    steady(1, common, tempo(120)),
    gradual(1, metre(3, 4), tempo(120), 60),
    free(70_000),
    steady(1, common, tempo(120), holdBeats(0, 1, 1)),
  ];

  test('clicks through rit., free time and fermata, and is silent after its last bar', () => {
    const p = playing(barProgram(form, { loop: false }));
    p.runUntil(p.origin + 700_000);
    // Three quarters from 120 to 60: 3 · 60 / (120 − 60x) s integrated over a bar is 3 · ln(1 + …); see the tables.
    const second = (x: number): number => BAR + Math.round(3 * 48_000 * -Math.log(1 - x / 2));
    const after = second(1) + 70_000;
    expect(placesBetween(p, 0, 690_000)).toEqual([
      ...[0, 1, 2, 3].map((i) => i * Q),
      ...[0, 1, 2].map((i) => second(i / 3)),
      ...[0, Q, 3 * Q, 4 * Q].map((i) => after + i),
    ]);
  });

  test('sounds the same for any split into blocks', () => {
    const run = (block: number) => {
      const p = playing(barProgram(form, { loop: false }), { blockSize: () => block });
      p.runUntil(p.origin + 500_000);
      return knocksBetween(p, 0, 480_000);
    };
    expect(run(1000)).toEqual(run(128));
    expect(run(77)).toEqual(run(128));
  });
});
