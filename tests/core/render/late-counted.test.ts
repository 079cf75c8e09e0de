import { expect, test } from 'vitest';
import { bars, frames } from '../../../src/core/units/index.js';
import { Performance } from '../../support/performance.js';
import { programOf } from '../../support/programs.js';
import { strokes } from '../../support/signals.js';

const BAR = 120_000;

/** Plays over the click for some bars and keeps the last `length` of them; nothing was being recorded. */
function keptAfter(played: number, length: number): Performance {
  const p = new Performance();
  p.useProgram(programOf());
  p.rules(null);
  p.handle({ type: 'play', heard: frames(p.heard) });
  const origin = p.origin;
  const every = Array.from({ length: 4 * played }, (_, i) => origin + (i * BAR) / 4);
  p.play = strokes(every, { seed: 5, level: 0.3, decay: 4000 });
  p.runUntil(origin + played * BAR + 3000 + p.outputDelay);
  p.handle({ type: 'keep-that', heard: frames(p.heard), bars: bars(length) });
  p.runUntil(p.rendered + 3 * BAR);
  return p;
}

test.each([
  [2, 1],
  [5, 4],
  [9, 8],
])('%i bars into the click, keeping %i bars is no fault: their audio is on its way from the ring', (played, length) => {
  const p = keptAfter(played, length);
  expect(p.last('layer-closed')).toMatchObject({ bars: length });
  expect(p.all('fault')).toEqual([]);
});
