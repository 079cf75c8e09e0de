import { describe, expect, test } from 'vitest';
import { isCableLost, ReferenceReader, referenceSequence } from '../../../src/core/round-trip/reference.js';
import { frames, QuantityError } from '../../../src/core/units/index.js';
import { song } from './band.js';
import { gaussian, rms } from './paths.js';

const EXPECTED = 5000;
const AMPLITUDE = 0.03;

/** What the spare input captures if bar k comes back `roundTrips[k]` frames late; NaN: not at all. */
function cable(bar: number, roundTrips: readonly number[], leak: Float32Array | null): Float32Array {
  const normal = gaussian(3);
  const out = Float32Array.from({ length: roundTrips.length * bar + 12_000 }, () => 1e-4 * normal());
  leak?.forEach((x, i) => {
    if (i < out.length) out[i] = (out[i] ?? 0) + x;
  });
  roundTrips.forEach((roundTrip, k) => {
    if (Number.isNaN(roundTrip)) return;
    referenceSequence(k).forEach((value, i) => {
      const at = k * bar + roundTrip + i;
      out[at] = (out[at] ?? 0) - AMPLITUDE * value;
    });
  });
  return out;
}

const barLines = (bar: number, count: number) => Array.from({ length: count }, (_, k) => frames(k * bar));

/** Music at −16 dBFS (RMS) on the neighbouring channel, 30 dB lower here. */
const music = song(6);
const LOUDNESS = (0.15 * 10 ** (-30 / 20)) / rms(music);
const LEAK = music.map((x) => x * LOUDNESS);

describe('every bar has its own round trip, to the frame', () => {
  test.each([
    ['bars of 0.3 s', 14_400, 6000],
    ['bars of 0.3 s, a search farther than a bar', 14_400, 16_000],
    ['bars of 2.5 s', 120_000, 6000],
  ])('%s, steps in between, music leaking in', (_, bar, reach) => {
    const truths = [5000, 5000, 5070, 5070, 5316, 5316, 10_316, 10_316, 3800, 5000];
    const samples = cable(bar, truths, LEAK);
    const read = new ReferenceReader(frames(reach)).read(
      { samples, start: frames(0) },
      barLines(bar, truths.length),
      frames(EXPECTED),
    );
    expect(read.map(({ roundTrip }) => roundTrip)).toEqual(truths);
    expect(Math.min(...read.map(({ prominence }) => prominence))).toBeGreaterThan(5);
  });

  test('the capture may begin anywhere', () => {
    const samples = cable(14_400, [5000, 5001, 5002], null);
    const later = samples.subarray(16_000);
    const read = new ReferenceReader(frames(2000)).read(
      { samples: later, start: frames(16_000) },
      barLines(14_400, 3),
      frames(EXPECTED),
    );
    expect(read.map(({ roundTrip }) => roundTrip)).toEqual([null, 5001, 5002]);
  });
});

describe('a bar is lost', () => {
  const reader = new ReferenceReader(frames(6000));
  const read = (truths: readonly number[], leak: Float32Array | null, change = (x: Float32Array) => x) =>
    reader.read(
      { samples: change(cable(14_400, truths, leak)), start: frames(0) },
      barLines(14_400, truths.length),
      frames(EXPECTED),
    );

  test('where its sequence is not there', () => {
    const bars = read([5000, NaN, 5000, NaN, NaN, NaN], LEAK);
    expect(bars.map(({ roundTrip }) => roundTrip)).toEqual([5000, null, 5000, null, null, null]);
    expect(bars[1]?.prominence).toBeLessThan(4);
    expect(isCableLost(bars, 3)).toBe(true);
    expect(isCableLost(bars, 4)).toBe(false);
    expect(isCableLost(bars.slice(0, 5), 3)).toBe(false);
    expect(isCableLost(bars.slice(4), 3)).toBe(false);
  });

  test('where it came from farther away than is searched', () => {
    expect(read([5000, 12_000, 5000], null).map(({ roundTrip }) => roundTrip)).toEqual([5000, null, 5000]);
  });

  test('where a glitch tore it in the middle', () => {
    const torn = read([5000, 5000, 5000], null, (samples) => {
      const cut = 14_400 + 5000 + 1000;
      const out = new Float32Array(samples.length + 90);
      out.set(samples.subarray(0, cut));
      out.set(samples.subarray(cut), cut + 90);
      return out;
    });
    expect(torn.map(({ roundTrip }) => roundTrip)).toEqual([5000, null, 5090]);
  });

  test('where nothing was captured yet', () => {
    const [bar] = reader.read({ samples: new Float32Array(100), start: frames(0) }, [frames(90_000)], frames(EXPECTED));
    expect(bar).toEqual({ index: 0, roundTrip: null, prominence: 0 });
  });
});

test('a search that reaches hardly anywhere is a mistake of the caller', () => {
  expect(() => new ReferenceReader(frames(99))).toThrow(QuantityError);
});
