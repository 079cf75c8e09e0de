import { describe, expect, test } from 'vitest';
import { hearOpening, openingSeam } from '../../../src/core/seam/opening.js';
import { frames, sampleRate } from '../../../src/core/units/index.js';
import { pluckedString, seededNoise, signal } from '../../support/tones.js';

const RATE = 48_000;
const BEAT = 24_000;
const LINE = 2 * BEAT + 12_000;
const AFTER = 9600;

/** A pluck at so many milliseconds from the line, `level` as loud as a note, in a quiet room; then the opening. */
function heard(ms: number, level = 1, line = LINE) {
  const string = pluckedString(RATE, 220, 0.15);
  const noise = seededNoise(3);
  const samples = signal(line + AFTER, (i) => level * string((i - line) / RATE - ms / 1000) + 0.0001 * noise());
  return hearOpening(samples, line, frames(BEAT), sampleRate(RATE));
}

/** A body of plucks, one a beat, is about so loud. */
const BODY_LEVEL = 0.08;

describe('an opening', () => {
  test.each([-40, -30, -20, -10, -5])('with an attack at %i ms is led in from just before it', (ms) => {
    const seam = openingSeam(heard(ms), BODY_LEVEL);
    expect(seam).toMatchObject({ kind: 'early-attack', fadeInFrames: 96 });
    // 3 ms since an onset may be placed so late, and 2 ms of fade; found within a millisecond.
    expect(Math.abs((seam.leadFrames * 1000) / RATE - (5 - ms))).toBeLessThan(1);
    // The end makes room for it where it fades in.
    expect(seam.tailFrames).toBe(96 - seam.leadFrames);
  });

  test.each([0, 5, 20])('with an attack at +%i ms and nothing before has no lead but 2 ms of fade', (ms) => {
    expect(openingSeam(heard(ms), BODY_LEVEL)).toMatchObject({ kind: 'crossfade', leadFrames: 96, tailFrames: 0 });
  });

  test('with something very soft before the line leads it in only where the body is as soft', () => {
    const soft = heard(-30, 0.01);
    expect(openingSeam(soft, BODY_LEVEL).kind).toBe('crossfade');
    expect(openingSeam(soft, BODY_LEVEL / 100).kind).toBe('early-attack');
  });

  test('never leads in from before there was anything', () => {
    const seam = openingSeam(heard(-30, 1, 1600), BODY_LEVEL);
    expect(seam.leadFrames).toBeLessThanOrEqual(1600);
  });
});
