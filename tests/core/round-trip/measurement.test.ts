import { describe, expect, test } from 'vitest';
import type { MeasurementRefusal } from '../../../src/core/round-trip/measurement.js';
import { checkRoundTrip, measureRoundTrip } from '../../../src/core/round-trip/measurement.js';
import { firstArrival } from '../../../src/core/round-trip/peaks.js';
import type { ProbeOrder } from '../../../src/core/round-trip/sequence.js';
import { maximumLengthSequence, probeSignal } from '../../../src/core/round-trip/sequence.js';
import { decibels, frames, QuantityError } from '../../../src/core/units/index.js';
import type { Path } from './paths.js';
import { gaussian, random, through, withNoise } from './paths.js';

interface Situation {
  readonly order: ProbeOrder;
  readonly latest: number;
  readonly path: Path;
  /** Signal to noise while the probe comes back, dB. */
  readonly ratio: number;
  readonly seed: number;
}

const LEVEL = decibels(-24);

function capturesOf({ order, latest, path, ratio, seed }: Situation): Float32Array[] {
  const sent = probeSignal(maximumLengthSequence(order), LEVEL);
  const clean = through(path, sent, latest + sent.length);
  const from = Math.floor(path.delay);
  return [0, 1, 2].map((k) => withNoise(clean, ratio, 3 * seed + k, from, from + sent.length));
}

function measured(situation: Situation): ReturnType<typeof measureRoundTrip> {
  return measureRoundTrip({
    sequence: maximumLengthSequence(situation.order),
    captures: capturesOf(situation).map((samples) => [samples]),
    channel: 0,
    latest: frames(situation.latest),
  });
}

/**
 * The truth: where a click of one frame, sent through the same path without noise, has its first top above half the
 * highest. A path without limits puts it within half a frame of its delay; small loudspeakers and microphones some
 * frames later, as they do with all that is recorded through them.
 */
const truthOf = (path: Path): number => firstArrival(Float64Array.from(through(path, [1], 8000 + path.delay))).lag;

const CABLE = {};
const SMALL_SPEAKER = { highPass: 300, lowPass: 8000, order: 2 } as const;
const STEEP_SPEAKER = { highPass: 300, lowPass: 8000, order: 4 } as const;
const LAPTOP = { highPass: 150, lowPass: 12_000, order: 4 } as const;
const TELEPHONE = { highPass: 500, lowPass: 5000, order: 4 } as const;

/** Some walls within 100 ms, any of them up to nearly twice as loud as the direct sound. */
function walls(uniform: () => number): Path['reflections'] {
  return Array.from({ length: 6 }, () => ({
    after: 20 + 4700 * uniform(),
    gain: (uniform() < 0.5 ? -1 : 1) * (0.1 + 0.9 * uniform()),
  }));
}

describe('in random trials the round trip is right to the frame or refused', () => {
  const TRIALS = 20;
  // Path, walls, dB of signal over noise; how many of 20 are refused at most; the truth's lag behind the pure delay.
  test.each([
    ['cable', CABLE, false, 40, 0, [-0.5, 0.5]],
    ['cable', CABLE, false, 10, 1, [-0.5, 0.5]],
    ['cable', CABLE, false, 0, 3, [-0.5, 0.5]],
    ['small loudspeaker', SMALL_SPEAKER, false, 20, 1, [0.5, 2]],
    ['small loudspeaker', SMALL_SPEAKER, false, 0, 4, [0.5, 2]],
    ['steep small loudspeaker', STEEP_SPEAKER, false, 20, 1, [2, 3.5]],
    ['steep small loudspeaker', STEEP_SPEAKER, false, 0, 8, [2, 3.5]],
    ['laptop microphone', LAPTOP, false, 20, 1, [1, 2.5]],
    ['laptop microphone', LAPTOP, false, 0, 5, [1, 2.5]],
    ['narrow band', TELEPHONE, false, 20, 2, [3, 4.5]],
    ['narrow band', TELEPHONE, false, 0, 14, [3, 4.5]],
    ['cable', CABLE, true, 40, 2, [-0.5, 0.5]],
    ['small loudspeaker', SMALL_SPEAKER, true, 20, 3, [0.5, 2]],
    ['steep small loudspeaker', STEEP_SPEAKER, true, 20, 4, [2, 3.5]],
    ['laptop microphone', LAPTOP, true, 20, 3, [1, 2.5]],
    ['laptop microphone', LAPTOP, true, 0, 12, [1, 2.5]],
  ] as const)('%s %o, walls %s, %i dB: at most %i refused of 20', (_, band, inRoom, ratio, mostRefused, lag) => {
    const refusals: string[] = [];
    for (let trial = 0; trial < TRIALS; trial++) {
      const uniform = random(100 + trial);
      const delay = 5990 * uniform();
      const path: Path = {
        ...band,
        delay,
        gain: uniform() < 0.5 ? -0.5 : 0.5,
        ...(inRoom ? { reflections: walls(uniform) ?? [] } : {}),
      };
      const result = measured({ order: 12, latest: 6000, path, ratio, seed: trial });
      const truth = truthOf(path);
      expect(truth - delay).toBeGreaterThanOrEqual(lag[0]);
      expect(truth - delay).toBeLessThanOrEqual(lag[1]);
      if (result.ok) expect(Math.abs(result.value.frames - truth), `trial ${trial}`).toBeLessThanOrEqual(1);
      else refusals.push(result.reason.type);
    }
    expect(refusals.length, refusals.join()).toBeLessThanOrEqual(mostRefused);
  });

  // Acceptance of published practice: 1 sample at 0 dB, from any delay of the range.
  test.each([0, 0.5, 17.25, 4928, 21_000.4, 29_999])('with the longest probe, %d frames late, at 0 dB', (delay) => {
    const path = { delay, gain: -0.3 };
    const result = measured({ order: 15, latest: 30_000, path, ratio: 0, seed: 77 });
    if (!result.ok) {
      // Halfway between two frames noise decides: three that differ by one are refused, never averaged.
      expect(delay % 1).toBe(0.5);
      expect(result.reason).toMatchObject({ type: 'disagree', spread: 1 });
      return;
    }
    expect(Math.abs(result.value.frames - delay)).toBeLessThan(1);
    expect(result.value).toMatchObject({ sign: -1 });
    expect(result.value.prominence).toBeGreaterThan(15);
    // −24 dBFS times 0.3.
    expect(result.value.level).toBeCloseTo(-34.5, -0.5);
  });
});

describe('a later, louder reflection does not win', () => {
  test.each([
    [0.6, 1.1],
    [0.8, -1.2],
    [1, 1.9],
  ])('while the direct sound, %d, is above half of it, %d', (direct, reflected) => {
    const path = { delay: 1234, gain: direct, reflections: [{ after: 777.3, gain: reflected / direct }] };
    expect(measured({ order: 13, latest: 6000, path, ratio: 30, seed: 5 })).toMatchObject({
      ok: true,
      value: { frames: 1234, sign: 1 },
    });
  });

  test.each([
    [0.4, 'too-weak'],
    [0.3, 'too-weak'],
    [0.2, 'hidden-behind-reflections'],
    [0.15, 'hidden-behind-reflections'],
  ])('and a direct sound of %d of it is a reason to refuse: %s', (direct, type) => {
    const path = { delay: 1234, gain: direct, reflections: [{ after: 777.3, gain: 1 / direct }] };
    expect(measured({ order: 14, latest: 6000, path, ratio: 30, seed: 6 })).toMatchObject({
      ok: false,
      reason: { type },
    });
  });
});

const SEQUENCE = maximumLengthSequence(13);
const SENT = probeSignal(SEQUENCE, LEVEL);
const LATEST = 6000;
const LENGTH = LATEST + SENT.length;
const noise = (level: number, seed: number): Float32Array => {
  const normal = gaussian(seed);
  return Float32Array.from({ length: LENGTH }, () => level * normal());
};
const at = (delay: number, gain = 0.5): Float32Array =>
  withNoise(through({ delay, gain }, SENT, LENGTH), 40, 9, 0, LENGTH);

/** Each time the same channels, but for what `each` changes. */
function refusalOf(channels: (time: number) => readonly Float32Array[], channel = 0): MeasurementRefusal | null {
  const captures = [0, 1, 2].map(channels);
  const result = measureRoundTrip({ sequence: SEQUENCE, captures, channel, latest: frames(LATEST) });
  return result.ok ? null : result.reason;
}

/** What an input that is heard in the output makes of a path: the sum of ratio^k, each `delay` later. */
function goingRound(delay: number, every: number, ratio: number): Float32Array {
  const reflections = Array.from({ length: 40 }, (_, k) => ({ after: (k + 1) * every, gain: ratio ** (k + 1) }));
  return withNoise(through({ delay, gain: 0.1, reflections }, SENT, LENGTH), 40, 11, 0, LENGTH);
}

describe('each thing that can be wrong is refused by its own name, with figures', () => {
  test.each([
    ['digital zeros', () => [new Float32Array(LENGTH)], { type: 'silence', peak: -Infinity }],
    ['less than −90 dBFS', () => [noise(5e-6, 1)], { type: 'silence' }],
    ['noise', (time: number) => [noise(0.05, time + 20)], { type: 'noise-only' }],
    ['a return at full scale', () => [at(1000, 40).map((x) => Math.min(1, Math.max(-1, x)))], { type: 'clipped' }],
    [
      'flat tops at half scale',
      () => [at(1000.4, 10).map((x) => Math.min(0.5, Math.max(-0.5, x)))],
      { type: 'clipped' },
    ],
    [
      'a return on the other channel',
      (time: number) => [noise(0.01, time + 40), at(1500)],
      { type: 'wrong-channel', channel: 1, frames: 1500 },
    ],
    [
      'a return on the third channel, none on the one in use',
      () => [new Float32Array(LENGTH), new Float32Array(LENGTH), at(900)],
      { type: 'wrong-channel', channel: 2, frames: 900 },
    ],
    ['an input heard in the output', () => [goingRound(1500, 1500, 0.7)], { type: 'monitoring-loop', every: 1500 }],
    ['one that inverts', () => [goingRound(1700, 900, -0.8)], { type: 'monitoring-loop', every: 900 }],
    ['one through a late way', () => [goingRound(300, 5000, 0.6)], { type: 'monitoring-loop', every: 5000 }],
    ['one that grows', () => [goingRound(800, 1300, 1.25)], { type: 'monitoring-loop', every: 1300 }],
    ['a step between two probes', (time: number) => [at(time === 2 ? 1070 : 1000)], { type: 'disagree', spread: 70 }],
    ['a return that is drowned', (time: number) => [drowned(time)], { type: 'too-weak' }],
    ['a return after the longest believed', () => [at(LATEST + 500)], { type: 'too-late', frames: LATEST + 500 }],
  ] as const)('%s', (_, channels, expected) => {
    expect(refusalOf(channels)).toMatchObject(expected);
  });

  /** 30 dB of noise over the return: some three times as high as the highest of the noise. */
  const drowned = (time: number): Float32Array =>
    withNoise(through({ delay: 2000, gain: 0.5 }, SENT, LENGTH), -18, 60 + time, 0, LENGTH);

  test('the figures of a disagreement are the values', () => {
    expect(refusalOf((time) => [at([1000, 1003, 1000][time] ?? 0)])).toEqual({
      type: 'disagree',
      values: [1000, 1003, 1000],
      spread: 3,
    });
  });

  test('noise alone is never taken for a return', () => {
    for (let trial = 0; trial < 100; trial++) {
      const refusal = refusalOf((time) => [noise(0.1, 1000 + 3 * trial + time)]);
      expect(refusal?.type).toBe('noise-only');
    }
  });

  test('an exact digital copy is not clipped, whatever its level', () => {
    for (const gain of [0.1, 1, 10]) {
      const samples = through({ delay: 700, gain }, SENT, LENGTH);
      expect(refusalOf(() => [samples])).toBeNull();
    }
  });

  test('samples that are not finite count as silence', () => {
    const broken = at(700).fill(NaN, 100, 200);
    broken[300] = Infinity;
    expect(refusalOf(() => [broken])).toBeNull();
  });
});

test.each([
  ['two captures', 2, LENGTH, 0],
  ['captures too short', 3, LENGTH - 1, 0],
  ['a channel that is not there', 3, LENGTH, 1],
])('%s are a mistake of the caller', (_, count, length, channel) => {
  const captures = Array.from({ length: count }, () => [new Float32Array(length)]);
  expect(() => measureRoundTrip({ sequence: SEQUENCE, captures, channel, latest: frames(LATEST) })).toThrow(
    QuantityError,
  );
});

test('a check is satisfied with one probe, and refuses like a measurement', () => {
  const checked = (samples: Float32Array) =>
    checkRoundTrip({ sequence: SEQUENCE, captures: [[samples]], channel: 0, latest: frames(LATEST) });
  expect(checked(at(1234))).toMatchObject({ ok: true, value: { frames: 1234, sign: 1 } });
  expect(checked(noise(0.05, 7))).toMatchObject({ ok: false, reason: { type: 'noise-only' } });
  expect(() => checkRoundTrip({ sequence: SEQUENCE, captures: [], channel: 0, latest: frames(LATEST) })).toThrow(
    QuantityError,
  );
});
