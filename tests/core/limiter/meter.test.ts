import { expect, test } from 'vitest';
import { PeakMeter } from '../../../src/core/limiter/meter.js';
import { sampleRate } from '../../../src/core/units/index.js';

const RATE = 48_000;
const block = (...samples: number[]): Float32Array => Float32Array.from(samples);

test('the peak is the highest magnitude of the last block', () => {
  const meter = new PeakMeter(sampleRate(RATE));
  meter.process(block(0.25, -0.75, 0.5), 3);
  expect(meter.peak).toBe(0.75);
  meter.process(block(0.25, -0.75, 0.5), 1);
  expect(meter.peak).toBe(0.25);
});

test('before anything came, in silence and after a reset it reads 0', () => {
  const meter = new PeakMeter(sampleRate(RATE));
  expect([meter.peak, meter.held]).toEqual([0, 0]);
  meter.process(block(1), 1);
  meter.reset();
  meter.process(block(0, 0), 2);
  expect([meter.peak, meter.held]).toEqual([0, 0]);
});

test('the held peak stays for 1.5 s, then falls to the present one', () => {
  const meter = new PeakMeter(sampleRate(RATE));
  const quiet = new Float32Array(128).fill(0.125);
  meter.process(block(0.5), 1);
  for (let frames = 0; frames + 128 <= 1.5 * RATE; frames += 128) {
    meter.process(quiet, 128);
    expect(meter.held).toBe(0.5);
  }
  meter.process(quiet, 128);
  expect(meter.held).toBe(0.125);
});

test('a peak as high as the held one holds it anew', () => {
  const meter = new PeakMeter(sampleRate(RATE));
  const quiet = new Float32Array(RATE).fill(0.125);
  meter.process(block(0.5), 1);
  meter.process(quiet, RATE);
  meter.process(block(0.5), 1);
  meter.process(quiet, RATE);
  expect(meter.held).toBe(0.5);
});

test('what is no finite number is passed over', () => {
  const meter = new PeakMeter(sampleRate(RATE));
  meter.process(block(NaN, Infinity, -Infinity, 0.25), 4);
  expect([meter.peak, meter.held]).toEqual([0.25, 0.25]);
});
