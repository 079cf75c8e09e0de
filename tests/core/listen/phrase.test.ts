import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { PhraseFinder } from '../../../src/core/listen/phrase.js';
import { sampleRate } from '../../../src/core/units/index.js';
import { strokes } from '../../support/signals.js';
import { seededNoise } from '../../support/tones.js';

const RATE = 8000;

/** Notes at the seconds given, in a room of this noise, for so long in all. */
function sound(notes: readonly number[], seconds: number, noise = 0.0005, level = 0.3): Float32Array {
  const random = seededNoise(3);
  const play = strokes(
    notes.map((at) => Math.round(at * RATE)),
    { decay: 800, level },
  );
  return Float32Array.from({ length: Math.round(seconds * RATE) }, (_, i) => play(i) + noise * random());
}

/** Beginning and end of the last phrase, in seconds; added in pieces of `piece` frames. */
function phraseOf(samples: Float32Array, piece = 4096): readonly [number, number] | null {
  const finder = new PhraseFinder(sampleRate(RATE));
  for (let at = 0; at < samples.length; at += piece) finder.add(samples.subarray(at, at + piece));
  const phrase = finder.last();
  return phrase === null ? null : [phrase.start / RATE, (phrase.start + phrase.frames) / RATE];
}

describe('the last phrase', () => {
  test.each<[string, readonly number[], number, number, number]>([
    ['begins after the last pause of a second and more', [1, 1.5, 2, 5, 5.5, 6.3], 8, 5, 6.3],
    ['goes on over a rest of less than a second', [5, 5.9, 6.8, 7.7], 10, 5, 7.7],
    ['may be a single note', [2, 2.5, 9], 12, 9, 9],
    ['is all of it where there was no pause', [0.5, 1.2, 1.9, 2.6], 4, 0.5, 2.6],
    ['does not mind how long ago it was', [1, 1.5], 60, 1, 1.5],
  ])('%s', (_, notes, seconds, first, last) => {
    const found = phraseOf(sound(notes, seconds));
    if (found === null) throw new Error('Got no phrase when expected one.');
    // A quarter of a second before its first note, and the ring of its last.
    expect(found[0]).toBeLessThanOrEqual(first);
    expect(found[0]).toBeGreaterThanOrEqual(Math.max(0, first - 0.3 - 0.05));
    expect(found[1]).toBeGreaterThanOrEqual(Math.min(seconds, last + 0.75));
    expect(found[1]).toBeLessThanOrEqual(last + 2);
  });

  test('that reaches back as far as was held begins there', () => {
    const notes = Array.from({ length: 40 }, (_, i) => i * 0.5);
    expect(phraseOf(sound(notes, 20))?.[0]).toBe(0);
  });

  test('is found in a noisy room, and under a slam that was louder by 20 dB', () => {
    const noisy = phraseOf(sound([3, 3.5, 8, 8.5], 12, 0.008));
    expect(noisy?.[0]).toBeGreaterThan(7.5);
    const slammed = sound([8, 8.5], 12, 0.0005, 0.09);
    for (let i = 0; i < 400; i++) slammed[RATE + i] = 0.9 * Math.cos(i);
    expect(phraseOf(slammed)?.[0]).toBeGreaterThan(7.5);
  });

  test.each([
    ['nothing', new Float32Array(0)],
    ['silence', new Float32Array(5 * RATE)],
    ['a hiss of −75 dB', sound([], 5, 0.0002)],
  ])('of %s is none', (_, samples) => {
    expect(phraseOf(samples)).toBeNull();
  });

  test('is the same however it comes in, and lies within what came in', () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: 0, max: 9, noNaN: true }), { minLength: 1, maxLength: 12 }),
        fc.integer({ min: 1, max: 9000 }),
        (notes, piece) => {
          const samples = sound(
            notes.toSorted((a, b) => a - b),
            10,
          );
          const whole = phraseOf(samples, samples.length);
          expect(phraseOf(samples, piece)).toEqual(whole);
          if (whole === null) throw new Error('Got no phrase when expected one.');
          expect(whole[0]).toBeGreaterThanOrEqual(0);
          expect(whole[1]).toBeLessThanOrEqual(10);
          expect(whole[0]).toBeLessThan(whole[1]);
        },
      ),
      { numRuns: 40 },
    );
  });
});
