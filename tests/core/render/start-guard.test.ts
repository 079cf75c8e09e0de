import { describe, expect, test } from 'vitest';
import { Limiter } from '../../../src/core/limiter/limiter.js';
import { StartGuard } from '../../../src/core/render/start-guard.js';
import { sampleRate } from '../../../src/core/units/index.js';
import { largestStep } from '../../support/signals.js';
import { seededNoise, signal } from '../../support/tones.js';

const RATE = 48_000;
const LOUD = 10 ** (-10 / 20);
const RISE = 0.05 * RATE;

/** A signal through guard and limiter, undelayed, and the same through the limiter alone. */
function started(samples: Float32Array, block = 128, armAt: number | null = null) {
  const limiter = new Limiter(sampleRate(RATE));
  const alone = new Limiter(sampleRate(RATE));
  const guard = new StartGuard(sampleRate(RATE), limiter.lookAhead);
  const left = [...samples, ...new Float32Array(limiter.lookAhead)];
  const out = Float32Array.from(left);
  const plain = Float32Array.from(left);
  alone.process(plain, plain.slice(), plain.length);
  for (let at = 0; at < out.length; at += block) {
    const count = Math.min(block, out.length - at);
    if (armAt !== null && at >= armAt && at < armAt + block) guard.arm();
    const pair = [out.subarray(at, at + count), out.slice(at, at + count)] as const;
    guard.listen(pair, count);
    limiter.process(pair[0], pair[1], count);
    guard.apply(pair, count);
  }
  return { out: out.subarray(limiter.lookAhead), plain: plain.subarray(limiter.lookAhead) };
}

const tone = (level: number, from = 0) => signal(RATE, (i) => (i < from ? 0 : level * Math.sin(0.05 * (i - from))));

describe('the first sound', () => {
  test.each([0.05, 0.25, 0.31])('that peaks at %d passes to the bit, its attack with it', (level) => {
    const noise = seededNoise(1);
    const attack = signal(RATE, (i) => (i < 1000 ? 0 : level * (i % 3000 === 1000 ? 1 : noise())));
    const { out } = started(attack);
    expect(out).toEqual(attack);
  });

  test('that begins at −12 dBFS and is louder 50 ms later passes to the bit: a count-in, then a full mix', () => {
    const mix = signal(RATE, (i) => (i < 480 ? 0.25 : i < 480 + RISE ? 0.2 : 0.85) * Math.sin(0.05 * i));
    expect(started(mix).out).toEqual(mix);
  });

  test('at full scale is held to −10 dBFS, then to a limit that rises to full scale over 50 ms', () => {
    const { out } = started(tone(0.88, 1000));
    for (let i = 1000; i < 1000 + RISE; i++) {
      const limit = LOUD + ((1 - LOUD) * (i - 1000)) / RISE;
      expect(Math.abs(out[i] ?? 0)).toBeLessThanOrEqual(limit + 1e-6);
    }
    expect(Math.max(...out.slice(1000, 1200).map(Math.abs))).toBeGreaterThan(0.8 * LOUD);
    expect(Math.max(...out.slice(1000 + 1.5 * RISE, 1000 + 2 * RISE).map(Math.abs))).toBeGreaterThan(0.8);
  });

  test('at full scale is itself again, to the bit, within half a second', () => {
    const samples = tone(0.88, 1000);
    const { out } = started(samples);
    expect(out.subarray(RATE / 2)).toEqual(samples.subarray(RATE / 2));
  });

  test('is not broken by the guard: no step that it does not have', () => {
    const samples = tone(0.88, 1000);
    const { out } = started(samples);
    expect(largestStep(out, 0, RATE)).toBeLessThanOrEqual(largestStep(samples, 0, RATE));
  });

  test('far over full scale is held to the limit as well, not to silence', () => {
    const { out } = started(tone(6, 1000));
    const begin = Math.max(...out.slice(1000, 1240).map(Math.abs));
    expect(begin).toBeLessThanOrEqual(LOUD + 0.08);
    expect(begin).toBeGreaterThan(0.5 * LOUD);
  });

  test('is not the noise of a room: a loud one after it is still the first', () => {
    const noise = seededNoise(4);
    const samples = signal(RATE, (i) => (i < RATE / 2 ? 0.009 * noise() : 0.88 * Math.sin(0.05 * i)));
    const { out } = started(samples);
    expect(Math.max(...out.slice(RATE / 2, RATE / 2 + 240).map(Math.abs))).toBeLessThan(LOUD + 0.08);
  });
});

test('armed again under sound, it holds that down as it held the first', () => {
  const samples = tone(0.88, 1000);
  const { out } = started(samples, 128, 25_600);
  expect(out[25_500]).toBe(samples[25_500]);
  expect(Math.max(...out.slice(25_600, 25_600 + 240).map(Math.abs))).toBeLessThan(LOUD + 0.08);
  expect(largestStep(out, 25_000, 27_000)).toBeLessThan(3 * largestStep(samples, 25_000, 27_000));
  expect(out.subarray(45_000)).toEqual(samples.subarray(45_000));
});

test.each([1, 127, 64])('blocks of %i give the same samples as blocks of 128', (block) => {
  const samples = tone(2, 777);
  expect(started(samples, block).out).toEqual(started(samples).out);
});

test('what is no number passes the guard by: the limiter silences it', () => {
  const samples = tone(0.88, 1000);
  samples[1100] = NaN;
  samples[1200] = Infinity;
  const { out } = started(samples);
  expect([out[1100], out[1200]]).toEqual([0, 0]);
  expect(out.every(Number.isFinite)).toBe(true);
});
