import { describe, expect, test } from 'vitest';
import { bleedIn } from '../../../src/core/round-trip/bleed.js';
import { QuantityError, sampleRate } from '../../../src/core/units/index.js';
import { bleedOf, doubling, organ, song } from './band.js';
import { gaussian, rms, through } from './paths.js';

const RATE = sampleRate(48_000);
const SECONDS = 12;

const outputs = { drums: song(SECONDS), strings: song(SECONDS, { drums: false }), organ: organ(SECONDS) };
const takes = {
  'the same notes, tight': doubling(SECONDS, 2, 0, 5),
  'the same notes, loose': doubling(SECONDS, 10, 0, 6),
  'the same notes, four cents sharp': doubling(SECONDS, 8, 4, 7),
  'something else': hiss(),
};

function hiss(): Float32Array {
  const normal = gaussian(3);
  return Float32Array.from(
    { length: 48_000 * SECONDS },
    (_, i) => 0.02 * normal() * (0.2 + Math.abs(Math.sin(i / 2e4))),
  );
}

/** Of what lies above 800 Hz, as the figure is defined. */
const treble = (samples: Float32Array): number =>
  rms(through({ delay: 0, highPass: 800, order: 2 }, samples, samples.length));

/** The take and the bleed in it, `level` dB under it above 800 Hz. */
function captured(take: Float32Array, sent: Float32Array, level: number, path: 'headphone' | 'room'): Float32Array {
  const came = once(sent, path);
  const scale = (treble(take) / treble(came)) * 10 ** (level / 20);
  return take.map((x, i) => x + scale * (came[i] ?? 0));
}

const known = new Map<Float32Array, Partial<Record<'headphone' | 'room', Float32Array>>>();
function once(sent: Float32Array, path: 'headphone' | 'room'): Float32Array {
  const came = known.get(sent)?.[path] ?? bleedOf(sent, path);
  known.set(sent, { ...known.get(sent), [path]: came });
  return came;
}

describe('own output in a take is found, and how loud it is', () => {
  // Under a player who doubles the song the figure is up to 3 dB too high: the louder half of a doubt.
  test.each([
    ['drums', 'the same notes, tight', 'room', -10, -8.9],
    ['drums', 'the same notes, loose', 'room', -15, -12.1],
    ['drums', 'the same notes, four cents sharp', 'headphone', -10, -10.5],
    ['drums', 'something else', 'room', -20, -21.6],
    ['strings', 'the same notes, loose', 'headphone', -10, -8.9],
  ] as const)('%s under %s, %s, %i dB: %d dB', (output, take, path, level, stated) => {
    const sent = outputs[output];
    const bleed = bleedIn(sent, captured(takes[take], sent, level, path), RATE);
    expect(bleed?.found).toBe(true);
    expect(bleed?.inTake).toBeCloseTo(stated, 0);
    expect(bleed?.matters).toBe(level > -20 ? 'yes' : 'no');
    expect(Math.abs(stated - level)).toBeLessThan(3);
  });
});

describe('a player who doubles the song is not bleed', () => {
  // The figure is then what bleed is below: poor where the player is tight and nothing but strings sounds.
  test.each([
    ['drums', 'the same notes, tight', -14],
    ['drums', 'the same notes, loose', -12],
    ['drums', 'something else', -33],
    ['strings', 'the same notes, tight', -9],
    ['strings', 'the same notes, loose', -13],
    ['strings', 'the same notes, four cents sharp', -13],
    ['organ', 'the same notes, loose', -28],
  ] as const)('%s under %s: below %i dB', (output, take, below) => {
    const bleed = bleedIn(outputs[output], takes[take], RATE);
    expect(bleed?.found).toBe(false);
    expect(bleed?.inTake).toBeLessThan(below);
    expect(bleed?.matters).toBe(below < -20 ? 'no' : 'cannot-tell');
  });

  test('nor is bleed that such a player hides: the bound is then above it', () => {
    const take = captured(takes['the same notes, tight'], outputs.strings, -10, 'room');
    const bleed = bleedIn(outputs.strings, take, RATE);
    expect(bleed?.found).toBe(false);
    expect(bleed?.inTake).toBeGreaterThan(-10);
  });
});

test('the level against the output is that of the path', () => {
  const sent = outputs.drums;
  const bleed = bleedIn(
    sent,
    takes['something else'].map((x, i) => x + 0.1 * (sent[i] ?? 0)),
    RATE,
  );
  expect(bleed).toMatchObject({ found: true });
  expect(bleed?.ofOutput).toBeCloseTo(-20, 0);
});

test.each([
  ['nothing was playing', new Float32Array(48_000 * 3), hiss().subarray(0, 48_000 * 3)],
  ['nothing came in', song(3), new Float32Array(48_000 * 3)],
  ['there is hardly anything', song(1), hiss().subarray(0, 48_000)],
])('nothing is said where %s', (_, sent, take) => {
  expect(bleedIn(sent, take, RATE)).toBeNull();
});

test('samples that are not finite count as silence', () => {
  const broken = outputs.drums.map((x, i) => (i % 100_000 === 7 ? NaN : x));
  const take = takes['something else'].map((x, i) => (i % 90_000 === 5 ? Infinity : x + 0.1 * (outputs.drums[i] ?? 0)));
  const bleed = bleedIn(broken, take, RATE);
  expect(bleed?.ofOutput).toBeCloseTo(-20, 0);
});

test('two lengths are a mistake of the caller', () => {
  expect(() => bleedIn(new Float32Array(10), new Float32Array(11), RATE)).toThrow(QuantityError);
});
