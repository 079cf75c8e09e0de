/**
 * One command at a time, over two sines, wherever the loop is: in the middle, just before the seam, in it, just behind the
 * line. The bound is that of the restless evening, for the voices that can sound at once here.
 */
import { describe, expect, test } from 'vitest';
import { frames } from '../../../src/core/units/index.js';
import { Performance } from '../../support/performance.js';
import type { RowVoice } from '../../support/row-programs.js';
import { crossfaded, falling, rising, rowProgram } from '../../support/row-programs.js';
import { largestStep } from '../../support/signals.js';

const RATE = 48_000;
const BAR = 12_000;
const GRID = { rate: RATE, barFrames: BAR, pulses: 4, beats: 0b1111 };
const PEAK = 0.1;
const HERTZ = 59;
/** Handles above those of what the engine records itself. */
const STORED = 1000;

const sine = (frame: number): number => Math.fround(PEAK * Math.sin((2 * Math.PI * HERTZ * frame) / RATE));

/**
 * The sine's own step, √2 times where two iterations cross; both fades of a seam, √2 / 480 a frame at most; a gain that moves
 * in 5 ms or slower; the fade at a stop, 10 ms.
 */
const VOICE_STEP = PEAK * ((Math.SQRT2 * 2 * Math.PI * HERTZ) / RATE + (2 * Math.SQRT2) / 480 + 1 / 240 + 1 / 480);
/** The two, and as many that leave while others come in their place. */
const VOICES = 4;

const SAMPLES = Array.from({ length: 60_000 }, (_, i) => sine(i));

const first: RowVoice = { id: STORED, audio: STORED, bodyStart: 5000, bodyFrames: 2 * BAR, ...crossfaded(480, 0) };
const second: RowVoice = { ...first, id: STORED + 1, bodyStart: 6111, bodyFrames: 3 * BAR, start: -BAR };
const third: RowVoice = { ...first, id: STORED + 2, bodyStart: 7777 };
/** The first, something having moved it from its second bar on. */
const moved: readonly RowVoice[] = [
  { ...first, bodyFrames: BAR, period: 2 * BAR },
  { ...first, id: STORED + 3, bodyStart: 5137 + BAR, bodyFrames: BAR, period: 2 * BAR, start: BAR },
];
const ringing = { lead: 3000, tail: 4000, fadeIn: rising(480, 1), fadeOut: falling(4000, 1) };

type Deed = (p: Performance) => void;
const use =
  (...voices: readonly RowVoice[]): Deed =>
  (p) =>
    p.useProgram(rowProgram({ grid: GRID, voices, revision: 2 }));
/** Another section, which begins at the next line that can still be rendered. */
const change =
  (...voices: readonly RowVoice[]): Deed =>
  (p) => {
    p.handle({ type: 'stand-by', slot: 0, program: rowProgram({ grid: GRID, voices, revision: 2 }) });
    p.handle({ type: 'go', slot: 0, heard: frames(p.heard) });
  };
const say =
  (type: 'play' | 'stop' | 'press'): Deed =>
  (p) =>
    p.handle({ type, heard: frames(p.heard) });
const wait =
  (count: number): Deed =>
  (p) =>
    p.runUntil(p.rendered + count);

const DEEDS: readonly (readonly [what: string, deeds: readonly Deed[]])[] = [
  ['a gain changes', [use({ ...first, left: 0.2, right: 0.9 }, second)]],
  ['gains change faster than they can follow', [use({ ...first, left: 0 }, second), wait(200), use(first, second)]],
  ['a layer is taken out', [use(second)]],
  ['a layer is taken out and put in again', [use(second), wait(100), use(first, second)]],
  ['a layer comes in', [use(first, second, third)]],
  ['layers change places', [use(second, first)]],
  ['all layers are others', [use(third)]],
  ['there is nothing left', [use()]],
  ['another take is in use', [use({ ...first, bodyStart: 7000 }, second)]],
  ['another recording is in use', [use({ ...first, audio: STORED + 5 }, second)]],
  ['a layer is nudged', [use({ ...first, bodyStart: 5100 }, second)]],
  ['a layer is shifted by a bar', [use(first, { ...second, start: -2 * BAR })]],
  ['a layer has another length', [use(first, { ...second, bodyFrames: 2 * BAR })]],
  ['a layer gets a pickup and a tail', [use({ ...first, ...ringing }, second)]],
  ['a layer had a pickup and a tail', [use({ ...first, ...ringing }, second), wait(8000), use(first, second)]],
  ['a layer turns out to have been moved', [use(...moved, second)]],
  ['a layer turns out to have been moved, and not', [use(...moved, second), wait(100), use(first, second)]],
  ['a layer that was moved is in one piece again', [use(...moved, second), wait(8000), use(first, second)]],
  ['another section begins with a layer that was moved', [change(...moved)]],
  ['a layer that was moved ends with its section', [use(...moved, second), wait(2 * BAR), change(third)]],
  [
    'playing stops and starts with a layer that was moved',
    [use(...moved), wait(2000), say('stop'), wait(300), say('play')],
  ],
  ['a layer ends', [use({ ...first, end: BAR }, second)]],
  ['another section begins', [change(third)]],
  ['another section begins with a pickup', [change({ ...third, ...ringing }, second)]],
  ['another section begins, and another in its place', [change(third), change({ ...third, ...ringing }, second)]],
  ['playing stops', [say('stop')]],
  ['playing stops and starts at once', [say('stop'), say('play')]],
  [
    'another take comes, and playing stops and starts soon',
    [use({ ...first, bodyStart: 7000 }, second), say('stop'), wait(300), say('play')],
  ],
  ['playing stops and starts soon', [say('stop'), wait(300), say('play')]],
  ['playing starts, stops and starts', [say('stop'), wait(2000), say('play'), wait(100), say('stop'), say('play')]],
  ['another program comes while playing stops', [say('stop'), wait(300), use({ ...first, bodyStart: 7000 }, third)]],
  ['a layer comes in before the first note', [say('stop'), wait(2000), say('play'), use(first, second, third)]],
  [
    'a layer gets a pickup before the first note',
    [say('stop'), wait(2000), say('play'), use({ ...first, ...ringing }, second)],
  ],
  [
    'a gain changes before the first note',
    [say('stop'), wait(2000), say('play'), use(first, { ...second, left: 0.5 })],
  ],
  ['a pass is begun and playing stops', [say('press'), wait(30_000), say('stop')]],
  ['a pass is begun, playing stops and starts', [say('press'), wait(33_000), say('stop'), wait(64), say('play')]],
  [
    'a pass has closed, and it alone plays from the top before the page knows of it',
    [say('press'), wait(5 * BAR), use(), wait(2000), say('stop'), wait(2000), say('play')],
  ],
];

/** Where the loop of two bars is, in frames from its line. */
const PLACES = [-3000, -500, -479, -240, -100, 0, 100, 2000, 11_000];

describe('nothing clicks', () => {
  test.each(DEEDS)('when %s', (_what, deeds) => {
    const clicks: number[] = [];
    for (const place of PLACES) {
      const p = new Performance({ blockSize: () => 64, outputDelay: 500 });
      p.stored.set(STORED, [SAMPLES]);
      p.stored.set(STORED + 5, [SAMPLES.slice(200)]);
      p.play = (heard) => sine(heard);
      p.rules(2);
      use(first, second)(p);
      p.runUntil(2000);
      say('play')(p);
      p.runUntil(p.origin + 6 * BAR + place);
      const before = p.left.slice(p.rendered - 1000, p.rendered - 200);
      for (const deed of deeds) deed(p);
      p.runUntil(p.rendered + 3 * BAR);
      expect(before.some((sample) => Math.abs(sample) > PEAK / 4)).toBe(true);
      if (largestStep(p.left, 0, p.rendered - 500) > VOICES * VOICE_STEP) clicks.push(place);
    }
    expect(clicks).toEqual([]);
  });
});
