import { expect, test } from 'vitest';
import { listenAtLines } from '../../../src/core/listen/at-lines.js';
import { frames, sampleRate } from '../../../src/core/units/index.js';
import { pluckedString, seededNoise, signal } from '../../support/tones.js';

const RATE = 48_000;
const BEAT = 24_000;
const START = 4 * BEAT;
const END = 8 * BEAT;

/** Plucks at the given frames, the first of another level, in a quiet room, round the lines of a body of four beats. */
function heard(plucks: readonly number[], { lead = START, tail = 4 * BEAT, first = 1 } = {}) {
  const string = pluckedString(RATE, 220, 0.15);
  const noise = seededNoise(3);
  const samples = signal(14 * BEAT, (i) =>
    plucks.reduce((sum, at, k) => sum + (k === 0 ? first : 1) * string((i - at) / RATE), 0.0002 * noise()),
  );
  const body = { bodyStart: frames(START), bodyFrames: frames(END - START), lead: frames(lead), tail: frames(tail) };
  return listenAtLines(samples, body, frames(BEAT), sampleRate(RATE));
}

const rounded = (onsets: readonly number[]): number[] => onsets.map((onset) => Math.round(onset / 100) * 100);

test('onsets are told from the lines, from two beats before them, as far as each is of interest', () => {
  const { startOnsets, endOnsets } = heard([0.5, 2.25, 3.95, 4.1, 5, 6.1, 7.5, 8.02, 10].map((beat) => beat * BEAT));
  expect(rounded(startOnsets)).toEqual([-42_000, -1200, 2400]);
  expect(rounded(endOnsets)).toEqual([-45_600, -12_000, 500, 48_000]);
});

test('what lies outside of lead and tail is not listened to', () => {
  const { startOnsets, endOnsets, tailLevels } = heard([2.25 * BEAT, 5 * BEAT, 10 * BEAT], { lead: BEAT, tail: BEAT });
  expect(startOnsets).toEqual([]);
  expect(endOnsets).toEqual([]);
  expect(tailLevels).toHaveLength(25);
});

test('what is 26 dB under the body is a chair or a breath, not a note', () => {
  const plucks = [3.9 * BEAT, 5 * BEAT, 6 * BEAT, 7 * BEAT];
  expect(rounded(heard(plucks, { first: 0.3 }).startOnsets)).toEqual([-2400]);
  expect(heard(plucks, { first: 0.01 }).startOnsets).toEqual([]);
});

test('levels are those of the 50 ms before and after each line, and of the tail every 20 ms', () => {
  const samples = new Float32Array(14 * BEAT);
  const steps: [number, number, number][] = [
    [START - 2400, START, 0.25],
    [START, START + 2400, 0.5],
    [END - 2400, END, 0.125],
    [END, END + 960, 0.0625],
  ];
  for (const [from, to, value] of steps) samples.fill(value, from, to);
  const body = { bodyStart: frames(START), bodyFrames: frames(END - START), lead: frames(START), tail: frames(2000) };
  const levels = listenAtLines(samples, body, frames(BEAT), sampleRate(RATE));
  expect(levels).toMatchObject({ leadLevel: 0.25, startLevel: 0.5, endLevel: 0.125, tailHop: 960 });
  expect(levels.tailLevels).toEqual([0.0625, 0]);
});

test('a body without lead or tail is heard alone', () => {
  const alone = heard([START + 480, START + 3 * BEAT], { lead: 0, tail: 0 });
  expect(alone.leadLevel).toBe(0);
  expect(alone.tailLevels).toEqual([]);
  expect(rounded(alone.endOnsets)).toEqual([-24_000]);
});
