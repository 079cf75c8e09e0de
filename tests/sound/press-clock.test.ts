import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { PressClock } from '../../src/sound/press-clock.js';

const RATE = 48_000;
const LOOK_AHEAD = 96;
/** The context was opened so long before the engine counted its first frame. */
const AHEAD = 4800;
/** The performance clock was at so many ms when the context began. */
const BEGAN = 2000;

/** The engine frame that is truly heard at a moment. */
const heardAt = (ms: number): number => ((ms - BEGAN) * RATE) / 1000 - AHEAD - LOOK_AHEAD;

/** A reading at a moment, off by some frames. */
const reading = (ms: number, offFrames = 0) => ({
  contextSeconds: (ms - BEGAN) / 1000 + offFrames / RATE,
  performanceMs: ms,
});

function clock(): PressClock {
  const made = new PressClock(RATE);
  made.setLookAhead(LOOK_AHEAD);
  made.setContextAhead(AHEAD);
  return made;
}

describe('with no answer yet', () => {
  test('from the output, nothing is heard', () => {
    expect(clock().heardAt(5000)).toBe(0);
  });

  test('from the audio thread, nothing is heard', () => {
    const made = new PressClock(RATE);
    made.read(reading(5000));
    expect(made.heardAt(5000)).toBe(0);
  });

  test('before the engine’s first frame, nothing is heard', () => {
    const made = clock();
    made.read(reading(2010));
    expect(made.heardAt(2010)).toBe(0);
  });
});

describe('what is heard at a moment', () => {
  test('is counted from the mix: the look-ahead and the context’s lead are taken off', () => {
    const made = clock();
    made.read(reading(5000));
    expect(made.heardAt(5000)).toBe(3 * RATE - AHEAD - LOOK_AHEAD);
  });

  test.each([-40, 0, 0.01, 16.7, 1000])('may lie %d ms from the reading, and is a whole frame, the nearest', (ms) => {
    const made = clock();
    made.read(reading(5000));
    const heard = made.heardAt(5000 + ms);
    expect(Number.isInteger(heard)).toBe(true);
    expect(Math.abs(heard - heardAt(5000 + ms))).toBeLessThanOrEqual(0.5 + 1e-6);
  });

  test('follows when the audio thread says that its frames lie otherwise', () => {
    const made = clock();
    made.read(reading(5000));
    made.setContextAhead(AHEAD + 128);
    expect(made.heardAt(5000)).toBe(heardAt(5000) - 128);
  });
});

describe('readings that jitter', () => {
  const frame = 1000 / 60;

  test('are levelled by their median: the one in the middle counts, not how far off the others are', () => {
    const made = clock();
    [-300, -200, 7, 20, 390].forEach((off, i) => made.read(reading(5000 + i * frame, off)));
    expect(made.heardAt(6000)).toBe(heardAt(6000) + 7);
  });

  test('lead nowhere that fewer than half of the last 31 point to', () => {
    const jitter = fc.integer({ min: -5, max: 5 });
    const far = fc.integer({ min: 100, max: 390 });
    fc.assert(
      fc.property(
        fc.array(jitter, { minLength: 16, maxLength: 16 }),
        fc.array(far, { minLength: 15, maxLength: 15 }),
        fc.infiniteStream(fc.nat()),
        (near, off, order) => {
          const made = clock();
          // One that is right comes first: the rest are jitter to it.
          const [first, ...rest] = near;
          const mixed = [...rest, ...off]
            .map((frames) => ({ frames, place: order.next().value as number }))
            .sort((a, b) => a.place - b.place);
          [first!, ...mixed.map(({ frames }) => frames)].forEach((frames, i) =>
            made.read(reading(5000 + i * frame, frames)),
          );
          expect(Math.abs(made.heardAt(6000) - heardAt(6000))).toBeLessThanOrEqual(6);
        },
      ),
    );
  });

  test.each([
    [15, 300],
    [16, 0],
  ])(
    'count while they are among the last 31: after a hundred others and %d right ones it is off by %d',
    (right, off) => {
      const made = clock();
      for (let i = 0; i < 100; i++) made.read(reading(5000 + i * frame, 300));
      for (let i = 100; i < 100 + right; i++) made.read(reading(5000 + i * frame));
      expect(made.heardAt(8000)).toBe(heardAt(8000) + off);
    },
  );
});

describe('a reading far off', () => {
  const settled = (): PressClock => {
    const made = clock();
    for (let i = 0; i < 31; i++) made.read(reading(5000 + i));
    return made;
  };

  test.each([401, -401, 48_000])('alone is left out: %d frames', (off) => {
    const made = settled();
    made.read(reading(5040, off));
    made.read(reading(5041));
    expect(made.heardAt(6000)).toBe(heardAt(6000));
  });

  test.each([401, -900, 48_000])('confirmed by the next is a step, and followed at once: %d frames', (off) => {
    const made = settled();
    made.read(reading(5040, off));
    expect(made.heardAt(6000)).toBe(heardAt(6000));
    made.read(reading(5057, off + 3));
    expect(made.heardAt(6000)).toBe(heardAt(6000) + off + 3);
  });

  test('is not confirmed by another that is far from it too', () => {
    const made = settled();
    made.read(reading(5040, 2000));
    made.read(reading(5057, -2000));
    expect(made.heardAt(6000)).toBe(heardAt(6000));
  });

  test('is not confirmed by one that comes after the clock was right again', () => {
    const made = settled();
    made.read(reading(5040, 2000));
    made.read(reading(5041));
    made.read(reading(5057, 2000));
    expect(made.heardAt(6000)).toBe(heardAt(6000));
  });
});
