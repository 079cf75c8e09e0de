import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { Limiter } from '../../../src/core/limiter/limiter.js';
import { QuantityError, sampleRate } from '../../../src/core/units/index.js';
import { seededNoise, signal } from '../../support/tones.js';
import { annex2Peak, decibelsOf, longPeak } from '../../support/true-peak.js';

const RATE = 48_000;
const RATES = [44_100, 48_000, 96_000];
/** The ceiling and the tolerance of meters: EBU R 128 and Tech 3341 (−1 dBTP, +0.2 dB). */
const CEILING = -1;
const TOLERANCE = 0.2;

type Signal = (frame: number) => number;

/** Runs both channels through a new limiter in blocks of the given lengths, the last one repeated. */
function limited(left: Float32Array, right: Float32Array, blocks: readonly number[] = [128], rate: number = RATE) {
  const limiter = new Limiter(sampleRate(rate));
  const out = { left: left.slice(), right: right.slice(), limiter };
  let from = 0;
  for (let k = 0; from < left.length; k++) {
    const length = Math.min(blocks[Math.min(k, blocks.length - 1)] ?? 1, left.length - from);
    limiter.process(out.left.subarray(from, from + length), out.right.subarray(from, from + length), length);
    from += length;
  }
  return out;
}

function delayed(samples: Float32Array, frames: number): Float32Array {
  const out = new Float32Array(samples.length);
  out.set(samples.subarray(0, samples.length - frames), frames);
  return out;
}

describe('the look-ahead', () => {
  test.each([
    [22_050, 44],
    [44_100, 88],
    [48_000, 96],
    [96_000, 192],
    [192_000, 384],
  ])('at %i frames a second is %i frames: whole, and at most 2 ms', (rate, expected) => {
    expect(new Limiter(sampleRate(rate)).lookAhead).toBe(expected);
    expect(expected / rate).toBeLessThanOrEqual(0.002);
  });

  test('a rate too low for the detector is refused, saying what was expected', () => {
    expect(() => new Limiter(sampleRate(8000))).toThrow(QuantityError);
    expect(() => new Limiter(sampleRate(8000))).toThrow('Got 8000 frames a second when expected 22050 or more.');
  });
});

describe('transparency', () => {
  const blockLists = fc.array(fc.integer({ min: 1, max: 300 }), { minLength: 1, maxLength: 40 });

  test('what stays under the ceiling comes out bit for bit, late by the look-ahead, in any split into blocks', () => {
    fc.assert(
      fc.property(fc.integer(), blockLists, fc.constantFrom(...RATES), (seed, blocks, rate) => {
        const noise = seededNoise(seed);
        const left = signal(4000, () => 0.3 * noise());
        const right = signal(4000, () => 0.3 * noise());
        fc.pre(Math.max(longPeak(left), longPeak(right)) < CEILING);
        const out = limited(left, right, blocks, rate);
        expect(out.left).toEqual(delayed(left, out.limiter.lookAhead));
        expect(out.right).toEqual(delayed(right, out.limiter.lookAhead));
      }),
      { numRuns: 30 },
    );
  });

  // EBU Tech 3341 (2023) table 1, cases 15 to 18: all read −6.0 dBTP, although some samples peak at −9.
  test.each([
    ['15', 1 / 4, 0.5, 0],
    ['16', 1 / 4, 0.5, 45],
    ['17', 1 / 6, 0.5, 60],
    ['18', 1 / 8, 0.5, 67.5],
  ])('EBU Tech 3341 case %s is under the ceiling and untouched', (_case, cycles, amplitude, degrees) => {
    const tone = fadedSine(RATE / 2, cycles, amplitude, degrees);
    expect(limited(tone, tone).left).toEqual(delayed(tone, 96));
  });

  test.each([
    [1 / 4, 45],
    [1 / 6, 60],
    [1 / 8, 67.5],
    [0.01, 0],
    [0.37, 10],
  ])('a tone of %f cycles a frame is untouched at −1.1 dBTP and held down at −0.9', (cycles, degrees) => {
    const under = fadedSine(RATE / 2, cycles, 10 ** (-1.1 / 20), degrees);
    const over = fadedSine(RATE / 2, cycles, 10 ** (-0.9 / 20), degrees);
    expect(limited(under, under).left).toEqual(delayed(under, 96));
    expect(limited(over, over).left).not.toEqual(delayed(over, 96));
  });

  test('after a loud moment everything comes out bit for bit again, within 2 s', () => {
    const noise = seededNoise(1);
    const samples = signal(3 * RATE, (i) => (i < 4800 ? 8 : 0.2) * noise());
    const out = limited(samples, samples);
    const from = 2 * RATE + 4800;
    expect(out.left.subarray(from)).toEqual(delayed(samples, 96).subarray(from));
  });
});

describe('the ceiling', () => {
  const noise = seededNoise(2024);
  const other = seededNoise(7);
  const worst: [string, Signal, Signal][] = [
    ['the sum of eight full-scale noises', () => sumOfEight(noise), () => sumOfEight(other)],
    ['one full-scale noise', noise, other],
    ['noise in bursts', (i) => (i % 2400 < 600 ? 4 : 0.1) * noise(), (i) => (i % 1700 < 90 ? 6 : 0.05) * other()],
    ['sparse loud samples in noise', () => (noise() > 0.98 ? 20 : 0.5) * noise(), () => 0.3 * other()],
    ['single impulses of 10', (i) => (i % 1000 === 500 ? 10 : 0), (i) => (i % 777 === 3 ? -10 : 0)],
    ['pairs of opposite samples', (i) => [2, -2][i % 300] ?? 0, (i) => [-3, 3, -3][i % 411] ?? 0],
    ['a full-scale square wave', (i) => (i % 100 < 50 ? 1 : -1), (i) => (i % 437 < 200 ? 3 : -3)],
    ['two tones near half the rate', (i) => 1.5 * Math.sin(2.9 * i) + 1.5 * Math.sin(2.7 * i), () => 0],
    [
      'a quarter of the rate at 45°, started hard',
      (i) => (i < 3000 ? 0 : 4 * Math.sin((i * Math.PI) / 2 + 0.785)),
      () => 0,
    ],
    ['a loud bass under noise', (i) => 3 * Math.sin(i * 0.0065) + 0.3 * noise(), (i) => 2 * Math.sin(i * 0.005)],
  ];
  const cases = RATES.flatMap((rate) => worst.map(([name, left, right]) => ({ rate, name, left, right })));

  test.each(cases)('holds for $name at $rate, read by both meters', ({ rate, left, right }) => {
    const out = limited(signal(12_000, ending(left)), signal(12_000, ending(right)), [128], rate);
    for (const channel of [out.left, out.right]) {
      expect(annex2Peak(channel)).toBeLessThanOrEqual(CEILING + TOLERANCE);
      expect(longPeak(channel)).toBeLessThanOrEqual(CEILING + TOLERANCE);
    }
  });

  // EBU Tech 3341 (2023) table 1, case 19: +3.0 dBTP, although no sample exceeds full scale.
  test('holds for EBU Tech 3341 case 19, and takes no more than it must', () => {
    const tone = fadedSine(RATE, 1 / 4, 1.41, 45);
    const out = limited(tone, tone).left;
    for (const reading of [annex2Peak(out), longPeak(out)]) {
      expect(reading).toBeLessThanOrEqual(CEILING + TOLERANCE);
      expect(reading).toBeGreaterThanOrEqual(CEILING - 0.4);
    }
  });

  test('holds for any bursts in any split into blocks, which changes no sample', () => {
    const burst = fc.record({
      at: fc.integer({ min: 0, max: 3000 }),
      length: fc.integer({ min: 1, max: 400 }),
      level: fc.double({ min: 0.01, max: 100, noNaN: true }),
    });
    fc.assert(
      fc.property(
        fc.array(burst, { minLength: 1, maxLength: 8 }),
        fc.array(fc.integer({ min: 1, max: 500 }), { minLength: 1, maxLength: 20 }),
        fc.integer(),
        (bursts, blocks, seed) => {
          const random = seededNoise(seed);
          const levelAt: Signal = (i) =>
            bursts.reduce((sum, b) => sum + (i >= b.at && i < b.at + b.length ? b.level : 0), 0.2);
          const left = signal(4000, (i) => (i < 3700 ? levelAt(i) : 0) * random());
          const right = signal(4000, (i) => (i < 3700 ? levelAt(i + 100) : 0) * random());
          const out = limited(left, right, blocks);
          const whole = limited(left, right, [4000]);
          expect(out.left).toEqual(whole.left);
          expect(out.right).toEqual(whole.right);
          for (const channel of [out.left, out.right]) {
            expect(annex2Peak(channel)).toBeLessThanOrEqual(CEILING + TOLERANCE);
            expect(longPeak(channel)).toBeLessThanOrEqual(CEILING + TOLERANCE);
          }
        },
      ),
      { numRuns: 40 },
    );
  });
});

test('both channels get the same gain, so a quiet one moves with a loud one', () => {
  const noise = seededNoise(3);
  const loud = signal(8000, (i) => (i % 2000 < 300 ? 5 : 0.5) * noise());
  const quiet = loud.map((sample) => sample / 16);
  const out = limited(loud, quiet);
  expect(out.right).toEqual(out.left.map((sample) => sample / 16));
  expect(decibelsOf(Math.max(...out.left))).toBeLessThanOrEqual(CEILING + TOLERANCE);
});

describe('damaged input', () => {
  test.each([[NaN], [Infinity], [-Infinity]])('%d becomes silence, is counted, and spoils nothing round it', (bad) => {
    const clean = signal(2000, (i) => 0.5 * Math.sin(0.05 * i));
    const damaged = clean.slice();
    damaged[500] = bad;
    damaged[501] = bad;
    const out = limited(damaged, clean);
    const expected = clean.slice();
    expected[500] = 0;
    expected[501] = 0;
    // Two holes make corners, which the true-peak detector may find high, but never above the ceiling here.
    expect(out.left).toEqual(delayed(expected, 96));
    expect(out.right).toEqual(delayed(clean, 96));
    expect(out.limiter.faults).toBe(2);
  });

  test('whatever 32-bit numbers come in, only finite ones under the ceiling go out', () => {
    const any = fc.float({ noDefaultInfinity: false, noNaN: false });
    fc.assert(
      fc.property(fc.array(any, { minLength: 300, maxLength: 600 }), (values) => {
        const samples = Float32Array.from(values);
        const out = limited(samples, samples.toReversed());
        for (const sample of [...out.left, ...out.right]) expect(Math.abs(sample)).toBeLessThanOrEqual(0.8913);
      }),
      { numRuns: 50 },
    );
  });

  test('denormals become zero, before and after the gain; the smallest normal number passes', () => {
    const normal = 2 ** -126;
    const samples = signal(1000, (i) => (i === 10 ? 2 ** -127 : i === 11 ? -(2 ** -140) : i === 12 ? normal : 0));
    const passed = limited(samples, samples);
    expect([...passed.left.subarray(106, 109)]).toEqual([0, 0, normal]);
    samples[20] = 4;
    expect(limited(samples, samples).left[108]).toBe(0);
  });
});

test('reset makes a used limiter behave as a new one', () => {
  const noise = seededNoise(5);
  const first = signal(3000, () => 6 * noise());
  first[7] = NaN;
  const second = signal(3000, () => 2 * noise());
  const { limiter } = limited(first, first);
  limiter.reset();
  expect(limiter.faults).toBe(0);
  const again = { left: second.slice(), right: second.slice() };
  limiter.process(again.left, again.right, second.length);
  expect(again.left).toEqual(limited(second, second).left);
});

/** A sine of `cycles` a frame under a raised-cosine fade of 50 ms at both ends: a hard edge has peaks of its own. */
function fadedSine(length: number, cycles: number, amplitude: number, degrees: number): Float32Array<ArrayBuffer> {
  const fade = RATE / 20;
  return signal(length, (i) => {
    const shape = 0.5 - 0.5 * Math.cos(Math.PI * Math.min(1, i / fade, (length - 1 - i) / fade));
    return shape * amplitude * Math.sin(2 * Math.PI * cycles * i + (degrees * Math.PI) / 180);
  });
}

/** Silent from frame 11,000 on, so that the end of the output cuts nothing off. */
const ending =
  (value: Signal): Signal =>
  (i) =>
    i < 11_000 ? value(i) : 0;

function sumOfEight(noise: () => number): number {
  let sum = 0;
  for (let k = 0; k < 8; k++) sum += noise();
  return sum;
}
