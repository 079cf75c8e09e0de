import { expect, test } from 'vitest';
import type { Peaks } from '../../src/core/render/meters.js';
import { PeaksSince } from '../../src/sound/peaks-since.js';

const reading = (input: readonly number[], house: number, foldback: number, held: number): Peaks => ({
  input: input.map((peak) => ({ peak, held })),
  house: { peak: house, held },
  foldback: { peak: foldback, held },
});

test('between two looks of the page the highest of all readings counts, and the newest held peak', () => {
  const peaks = new PeaksSince();
  peaks.add(reading([0.5, 0.125], 0.25, 0.5, 0.75));
  peaks.add(reading([0.25, 0.25], 0.5, 0.125, 0.5));
  expect(peaks.take()).toEqual(reading([0.5, 0.25], 0.5, 0.5, 0.5));
});

test('looked at again without a reading, there is nothing but what is held', () => {
  const peaks = new PeaksSince();
  peaks.add(reading([0.5], 0.25, 0.5, 0.75));
  peaks.take();
  expect(peaks.take()).toEqual(reading([0], 0, 0, 0.75));
});

test('before the first reading there is silence, and no input', () => {
  expect(new PeaksSince().take()).toEqual(reading([], 0, 0, 0));
});

test('the input alone is counted by itself: one look does not take from the other', () => {
  const peaks = new PeaksSince();
  peaks.add(reading([0.25, 0.5], 0, 0, 0));
  expect(peaks.takeInput()).toBe(0.5);
  expect(peaks.takeInput()).toBe(0);
  expect(peaks.take().input.map(({ peak }) => peak)).toEqual([0.25, 0.5]);
});
