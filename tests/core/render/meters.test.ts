import { expect, test } from 'vitest';
import { Meters } from '../../../src/core/render/meters.js';
import { sampleRate } from '../../../src/core/units/index.js';

const RATE = 48_000;
const block = (...samples: number[]): Float32Array => Float32Array.from(samples);
const SILENT = [block(0), block(0)] as const;

test('each input has its own peak since the last reading, over all blocks between', () => {
  const meters = new Meters(sampleRate(RATE), 2);
  meters.takeInput([block(0.25, -0.5), block(0.125, 0)], 2);
  meters.takeInput([block(0, 0.0625), block(0, 0)], 2);
  expect(meters.read().input.map(({ peak }) => peak)).toEqual([0.5, 0.125]);
  expect(meters.read().input.map(({ peak }) => peak)).toEqual([0, 0]);
});

test('a bus reads as the louder of its sides', () => {
  const meters = new Meters(sampleRate(RATE), 1);
  meters.takeBuses([block(0.25), block(-0.75)], [block(0.5), block(0.125)], 1);
  const { house, foldback } = meters.read();
  expect([house.peak, foldback.peak]).toEqual([0.75, 0.5]);
});

test('peaks are held for 1.5 s, whether the input goes on or is missing', () => {
  const meters = new Meters(sampleRate(RATE), 1);
  meters.takeInput([block(0.5)], 1);
  meters.takeBuses([block(0.5), block(0)], SILENT, 1);
  meters.takeInput([], 1.4 * RATE);
  expect(meters.read().input[0]?.held).toBe(0.5);
  expect(meters.read().house.held).toBe(0.5);
  meters.takeInput([], 0.2 * RATE);
  expect(meters.read().input[0]).toEqual({ peak: 0, held: 0 });
});

test('only the first frames of a block are read, and what is no finite number is passed over', () => {
  const meters = new Meters(sampleRate(RATE), 1);
  meters.takeInput([block(0.25, NaN, Infinity, 1)], 3);
  expect(meters.read().input[0]?.peak).toBe(0.25);
});

test('a reading is the same object every time, and a copy of it is plain numbers', () => {
  const meters = new Meters(sampleRate(RATE), 1);
  const first = meters.read();
  meters.takeInput([block(0.5)], 1);
  expect(meters.read()).toBe(first);
  expect(structuredClone(first)).toEqual({
    input: [{ peak: 0.5, held: 0.5 }],
    house: { peak: 0, held: 0 },
    foldback: { peak: 0, held: 0 },
  });
});
