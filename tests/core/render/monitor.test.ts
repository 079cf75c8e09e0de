import { describe, expect, test } from 'vitest';
import { Monitor } from '../../../src/core/render/monitor.js';
import { frames, gain, sampleRate } from '../../../src/core/units/index.js';
import { largestStep } from '../../support/signals.js';
import { seededNoise, signal } from '../../support/tones.js';

const RATE = 48_000;
const RAMP = 960;

type Change = readonly [frame: number, change: (monitor: Monitor, at: ReturnType<typeof frames>) => void];

/** What the monitor adds to silence, with things done to it at frames. */
function monitored(input: readonly Float32Array[], changes: readonly Change[], block = 128): Float32Array {
  const monitor = new Monitor(sampleRate(RATE), input.length);
  const length = input[0]?.length ?? 0;
  const out = new Float64Array(length);
  let next = 0;
  for (let at = 0; at < length;) {
    for (; next < changes.length && changes[next]![0] <= at; next++) changes[next]![1](monitor, frames(at));
    const count = Math.min(block, (changes[next]?.[0] ?? length) - at, length - at);
    monitor.add(input, at, at, count, out.subarray(at));
    at += count;
  }
  return Float32Array.from(out);
}

const on: Change = [0, (monitor, at) => monitor.set(true, gain(1), at)];
const noise = seededNoise(3);
const voice = signal(20_000, () => 0.3 * noise());
const other = signal(20_000, () => 0.3 * noise());
const steady = signal(20_000, (i) => 0.5 * Math.sin(0.01 * i));

describe('the monitor', () => {
  test('is off until it is told that the player has headphones on', () => {
    expect(monitored([voice], []).every((sample) => sample === 0)).toBe(true);
  });

  test('adds the input as it is, from 20 ms after it was turned on', () => {
    const out = monitored([voice], [on]);
    expect(out.subarray(RAMP)).toEqual(voice.subarray(RAMP));
    expect(out[0]).toBe(0);
    expect(Math.abs(out[RAMP / 2]!)).toBeCloseTo(Math.abs(voice[RAMP / 2]!) / 2, 6);
  });

  test('comes and goes, and changes its gain, without a step', () => {
    const out = monitored(
      [steady],
      [on, [4000, (m, at) => m.set(true, gain(0.25), at)], [8000, (m, at) => m.set(false, gain(1), at)]],
    );
    expect(largestStep(out, 0, 20_000)).toBeLessThan(1.3 * largestStep(steady, 0, 20_000));
    expect(out[7000]).toBeCloseTo(0.25 * steady[7000]!, 6);
    expect(out.subarray(8000 + RAMP).every((sample) => sample === 0)).toBe(true);
  });

  test('adds the channels in use, the first unless others are', () => {
    const both = [voice, other];
    expect(monitored(both, [on]).subarray(RAMP)).toEqual(voice.subarray(RAMP));
    const second = monitored(both, [on, [5000, (m, at) => m.useChannels([1], at)]]);
    expect(second.subarray(5000 + RAMP)).toEqual(other.subarray(5000 + RAMP));
    const sum = monitored(both, [on, [0, (m, at) => m.useChannels([0, 1], at)]]);
    expect(sum[9000]).toBe(Math.fround(voice[9000]! + other[9000]!));
  });

  test('is silent for a channel that does not exist or is missing from the block', () => {
    const out = monitored([voice], [on, [0, (m, at) => m.useChannels([3], at)]]);
    expect(out.every((sample) => sample === 0)).toBe(true);
    const monitor = new Monitor(sampleRate(RATE), 2);
    monitor.set(true, gain(1), frames(0));
    const into = new Float64Array(8);
    monitor.add([], 0, 2000, 8, into);
    expect([...into]).toEqual(new Array(8).fill(0));
  });

  test.each([
    [-1, 0],
    [NaN, 0],
    [Infinity, 4],
    [100, 4],
  ])('takes a gain of %d for %d', (asked, used) => {
    const out = monitored([voice], [[0, (m, at) => m.set(true, asked as never, at)]]);
    expect(out[5000]).toBeCloseTo(used * voice[5000]!, 5);
  });
});

describe('a howl', () => {
  // Grows by 60 dB a second to full scale. It ends a tenth of a second after the monitor falls silent, by another clock.
  const length = 5 * RATE;
  const howl = (ends: number) =>
    signal(
      length,
      (i) => (i < ends ? Math.min(1, 10 ** ((60 * i) / RATE / 20 - 3)) * Math.sin(0.13 * i) : 0) + 1e-4 * noise(),
    );

  /** First frame at which nothing more is added. */
  const silentFrom = (out: Float32Array, input: Float32Array): number =>
    out.findIndex((sample, i) => i > RAMP && sample === 0 && input[i] !== 0);

  test('is silenced within 10 ms of being heard, told of once it is over, and stays silenced', () => {
    const whole = howl(Infinity);
    const at = silentFrom(monitored([whole], [on]), whole);
    const input = howl(at + 4800);
    const monitor = new Monitor(sampleRate(RATE), 1);
    monitor.setRoundTrip(frames(4800));
    monitor.set(true, gain(1), frames(0));
    const out = new Float64Array(length);
    const told: number[] = [];
    for (let frame = 0; frame < length; frame += 120) {
      monitor.add([input], frame, frame, 120, out.subarray(frame));
      if (monitor.takeHowled()) told.push(frame);
    }
    expect(told).toHaveLength(1);
    expect(told[0]! - at).toBeLessThan(0.4 * RATE);
    expect(out.subarray(at).every((sample) => sample === 0)).toBe(true);

    monitor.set(true, gain(1), frames(length));
    const again = new Float64Array(2 * RAMP);
    monitor.add([voice], 0, length, 2 * RAMP, again);
    expect(Float32Array.from(again.subarray(RAMP))).toEqual(voice.subarray(RAMP, 2 * RAMP));
  });

  test('that goes on under the silence was played: it sounds again, and nothing is told', () => {
    const input = howl(Infinity);
    const out = monitored([input], [on]);
    const at = silentFrom(out, input);
    expect(at).toBeGreaterThan(0);
    expect(out.subarray(at + 0.4 * RATE)).toEqual(input.subarray(at + 0.4 * RATE));
  });

  test.each([1, 127, 700])('is silenced at the same frame in blocks of %i', (block) => {
    const input = howl(Infinity).subarray(0, 2 * RATE);
    expect(monitored([input], [on], block)).toEqual(monitored([input], [on]));
  });
});
