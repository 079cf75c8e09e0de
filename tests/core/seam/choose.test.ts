import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { seamFor } from '../../../src/core/seam/choose.js';
import { decideSeam } from '../../../src/core/seam/decide.js';
import type { SeamEvidence, SeamKind } from '../../../src/core/seam/seam.js';

const MS = 48;
const BEAT = 24_000;

/** A held sound at 48,000 frames a second, played on; onsets in milliseconds from the lines. */
const heard = (start: readonly number[], end: readonly number[], change: Partial<SeamEvidence> = {}): SeamEvidence => ({
  rate: 48_000,
  beatFrames: BEAT,
  lead: 96_000,
  tail: 144_000,
  startOnsets: start.map((ms) => ms * MS),
  endOnsets: end.map((ms) => ms * MS),
  leadLevel: 0.1,
  startLevel: 0.1,
  endLevel: 0.1,
  tailLevels: Array.from({ length: 150 }, () => 0.1),
  tailHop: 960,
  correlation: 0.3,
  playedOn: true,
  pickupMarked: false,
  ...change,
});

const EARLY = heard([-30, 470], [-25]);
const HELD = heard([], []);
const PICKUP = heard([-300, 0], [0]);

describe('a seam that is not chosen', () => {
  test('is the one that is heard', () => {
    for (const evidence of [EARLY, HELD, PICKUP]) expect(seamFor(evidence, null)).toEqual(decideSeam(evidence));
  });
});

describe('a chosen crossfade', () => {
  test.each([
    ['over an early attack', EARLY],
    ['over a pickup that was marked', { ...PICKUP, pickupMarked: true }],
    ['of an end that would ring on', { ...HELD, playedOn: false }],
  ])('is one %s', (_, evidence) => {
    expect(seamFor(evidence, 'crossfade')).toMatchObject({
      kind: 'crossfade',
      leadFrames: 480,
      fadeInFrames: 480,
      tailFrames: 0,
      fadeOutFrames: 480,
      fadeInShape: 0.3,
    });
  });
});

describe('a chosen ring', () => {
  test('goes on although the player did, until the next onset', () => {
    expect(seamFor(HELD, 'let-ring')).toMatchObject({ kind: 'let-ring', tailFrames: 144_000 });
    expect(seamFor(heard([], [500]), 'let-ring').tailFrames).toBe((500 - 5) * MS);
  });

  test('leaves an early attack at the beginning what it is', () => {
    expect(seamFor(EARLY, 'let-ring')).toMatchObject({ kind: 'early-attack', tailFrames: 144_000 });
  });

  test('that has nothing to ring with says what it became', () => {
    expect(seamFor({ ...HELD, tail: 0 }, 'let-ring').kind).toBe('crossfade');
    expect(seamFor(heard([], [4]), 'let-ring').kind).toBe('crossfade');
  });
});

describe('a chosen early attack', () => {
  test('that was heard runs in from just before it', () => {
    expect(seamFor(EARLY, 'early-attack')).toEqual(decideSeam(EARLY));
  });

  test('that was not heard runs in from as early as one can be', () => {
    const seam = seamFor(HELD, 'early-attack');
    expect(seam).toMatchObject({ kind: 'early-attack', leadFrames: (60 + 3 + 2) * MS, fadeInFrames: 2 * MS });
  });
});

describe('a chosen pickup', () => {
  test('that was heard sounds over the end', () => {
    expect(seamFor(PICKUP, 'pickup')).toMatchObject({ kind: 'pickup', leadFrames: (300 + 3 + 2) * MS, tailFrames: 0 });
  });

  test('that was not heard sounds over the end from two beats before the line', () => {
    expect(seamFor(HELD, 'pickup')).toMatchObject({ kind: 'pickup', leadFrames: 2 * BEAT + (3 + 2) * MS });
  });
});

test('whatever is heard and chosen, the seam uses only what there is, and its fades lie within it', () => {
  const onsets = fc.array(fc.integer({ min: -2 * BEAT, max: 7000 }), { maxLength: 4 });
  const made = fc.record({
    start: onsets,
    end: onsets,
    lead: fc.nat({ max: 60_000 }),
    tail: fc.nat({ max: 144_000 }),
    playedOn: fc.constantFrom(true, false, null),
    pickupMarked: fc.boolean(),
    correlation: fc.double({ min: -1, max: 1, noNaN: true }),
    levels: fc.tuple(fc.double({ min: 0, max: 1, noNaN: true }), fc.double({ min: 0, max: 1, noNaN: true })),
    chosen: fc.constantFrom<(SeamKind | null)[]>(null, 'crossfade', 'early-attack', 'pickup', 'let-ring'),
  });
  fc.assert(
    fc.property(made, ({ start, end, levels, chosen, ...rest }) => {
      const sorted = (frames: readonly number[]) => frames.toSorted((a, b) => a - b);
      const evidence = {
        ...heard([], [], rest),
        startOnsets: sorted(start),
        endOnsets: sorted(end),
        leadLevel: levels[0],
        endLevel: levels[1],
      };
      const seam = seamFor(evidence, chosen);
      expect(seam.leadFrames).toBeLessThanOrEqual(rest.lead);
      expect(seam.tailFrames).toBeLessThanOrEqual(rest.tail);
      expect(seam.fadeInFrames).toBeLessThanOrEqual(seam.leadFrames);
      expect(Number.isInteger(seam.leadFrames) && Number.isInteger(seam.tailFrames)).toBe(true);
    }),
  );
});
