import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { decideSeam } from '../../../src/core/seam/decide.js';
import type { SeamEvidence } from '../../../src/core/seam/seam.js';
import { QuantityError } from '../../../src/core/units/index.js';

const RATES = [44_100, 48_000, 96_000];

/** A held sound, played on, with nothing struck near the lines; times in milliseconds, where a test says otherwise. */
interface Said {
  rate?: number;
  start?: number[];
  end?: number[];
  lead?: number;
  tail?: number;
  leadLevel?: number;
  startLevel?: number;
  endLevel?: number;
  tailLevels?: number[];
  correlation?: number;
  playedOn?: boolean | null;
  pickupMarked?: boolean;
}

function evidence(said: Said): SeamEvidence {
  const rate = said.rate ?? 48_000;
  const inFrames = (ms: number): number => Math.round((ms * rate) / 1000);
  return {
    rate,
    beatFrames: rate / 2,
    lead: inFrames(said.lead ?? 2000),
    tail: inFrames(said.tail ?? 3000),
    startOnsets: (said.start ?? []).map(inFrames),
    endOnsets: (said.end ?? []).map(inFrames),
    leadLevel: said.leadLevel ?? 0.1,
    startLevel: said.startLevel ?? 0.1,
    endLevel: said.endLevel ?? 0.1,
    tailLevels: said.tailLevels ?? new Array<number>(150).fill(0.1),
    tailHop: inFrames(20),
    correlation: said.correlation ?? 0,
    playedOn: said.playedOn ?? (said.playedOn === null ? null : true),
    pickupMarked: said.pickupMarked ?? false,
  };
}

/** Levels that fall by so many dB every 20 ms. */
const falling = (decibels: number): number[] =>
  Array.from({ length: 150 }, (_, k) => 0.1 * 10 ** ((-decibels * (k + 1)) / 20));

/** ±4 dB five times a second, low after one second. */
const tremolo = Array.from({ length: 150 }, (_, k) => 0.1 * 10 ** (0.2 * Math.sin(2 * Math.PI * (k / 10 + 0.35))));

/** The decision with its frames in milliseconds. */
function decided(said: Said) {
  const seam = decideSeam(evidence(said));
  const ms = (count: number): number => Math.round((count * 10_000) / (said.rate ?? 48_000)) / 10;
  return {
    kind: seam.kind,
    lead: ms(seam.leadFrames),
    fadeIn: ms(seam.fadeInFrames),
    tail: ms(seam.tailFrames),
    fadeOut: ms(seam.fadeOutFrames),
    shape: seam.fadeInShape,
    mayOverlap: seam.mayOverlap,
  };
}

const crossfade = { kind: 'crossfade', lead: 10, fadeIn: 10, tail: 0, fadeOut: 10, shape: 0, mayOverlap: false };
/** The lead begins 5 ms before the onset: 2 ms of fade, 3 ms because an onset may be placed late. */
const early = (ms: number) => ({
  kind: 'early-attack',
  lead: ms + 5,
  fadeIn: 2,
  tail: -(ms + 3),
  fadeOut: 2,
  shape: 0,
  mayOverlap: false,
});

describe.each(RATES)('at %i frames a second, when the player played on', (rate) => {
  test('a held sound is crossfaded in the 10 ms before the line, matched to its correlation', () => {
    expect(decided({ rate, correlation: 0.4 })).toEqual({ ...crossfade, shape: 0.4 });
  });

  test('signals that work against each other are crossfaded in 2 ms', () => {
    expect(decided({ rate, correlation: -0.3 })).toEqual({ ...crossfade, lead: 2, fadeIn: 2, fadeOut: 2 });
  });

  test.each([-40, -30, -20, -10, -5, -1])(
    'an attack at %i ms is led in from just before it, in place of the end',
    (ms) => {
      expect(decided({ rate, start: [ms], end: [ms] })).toEqual(early(-ms));
    },
  );

  test.each([0, 1, 5, 10, 20, 40])('an attack at +%i ms is left whole behind the crossfade', (ms) => {
    expect(decided({ rate, start: [ms, -600].sort((a, b) => a - b), end: [ms] })).toEqual(crossfade);
  });

  test.each([
    ['only at the start', [-30], []],
    ['only at the end', [12], [-30]],
    ['earlier at the end', [-12], [-30]],
    ['earlier at the start', [-30], [-12]],
    ['in two strokes', [-30, -15], [-28]],
  ])('an early attack %s makes room before the earlier one', (_where, start, end) => {
    expect(decided({ rate, start, end })).toEqual(early(30));
  });
});

describe('how near counts as early', () => {
  test.each([
    [-60, 'early-attack'],
    [-61, 'crossfade'],
    [-125, 'crossfade'],
  ])('an onset at %i ms: %s', (ms, kind) => {
    expect(decided({ start: [ms] }).kind).toBe(kind);
  });
});

describe('a lead in which nothing was played', () => {
  test('is left out but for 2 ms, while the end fades over 10 ms', () => {
    const silent = { kind: 'crossfade', lead: 2, fadeIn: 2, tail: 0, fadeOut: 10, shape: 1, mayOverlap: false };
    expect(decided({ start: [4], leadLevel: 0.001 })).toEqual(silent);
    expect(decided({ start: [-1001, 4], leadLevel: 0.001 })).toEqual(silent);
  });

  test('is crossfaded if something was held there, however long ago it was struck', () => {
    expect(decided({ start: [4], leadLevel: 0.05 })).toEqual(crossfade);
  });

  test('is crossfaded in a rest, from room to room', () => {
    expect(decided({ leadLevel: 0.0004, startLevel: 0.0004, endLevel: 0.0003 })).toEqual(crossfade);
  });

  test('cannot be longer than what exists', () => {
    expect(decided({ lead: 4 })).toEqual({ ...crossfade, lead: 4, fadeIn: 4 });
    expect(decided({ lead: 0 })).toEqual({ ...crossfade, lead: 0, fadeIn: 0 });
    expect(decided({ lead: 20, start: [-18] })).toEqual({ ...early(18), lead: 20, fadeIn: 2 });
  });
});

describe('a marked pickup', () => {
  const over = { kind: 'pickup', lead: 505, fadeIn: 2, tail: 0, fadeOut: 10, shape: 1, mayOverlap: true };

  test('sounds in full from just before its first onset, over the end of what precedes it', () => {
    expect(decided({ pickupMarked: true, start: [-500, -250, 0] })).toEqual(over);
  });

  test('takes the place of the end where the end holds the next pickup already', () => {
    const inPlace = { ...over, tail: -503, fadeOut: 2, shape: 0, mayOverlap: false };
    expect(decided({ pickupMarked: true, start: [-500, -250, 0], end: [-485, -240, 3] })).toEqual(inPlace);
  });

  test('over an end whose next first beat came early stops that end before it', () => {
    expect(decided({ pickupMarked: true, start: [-500, 0], end: [-20] })).toEqual({ ...over, tail: -23, fadeOut: 2 });
  });

  test('begins at most two beats before the line', () => {
    expect(decided({ pickupMarked: true, start: [-1200, -1000] }).lead).toBe(1005);
  });

  test('without an onset in the last two beats changes nothing', () => {
    const said = { start: [-1200, 4], leadLevel: 0.001 };
    expect(decided({ ...said, pickupMarked: true })).toEqual(decided(said));
  });
});

describe('when the player stopped at the line', () => {
  const rang = { kind: 'let-ring', lead: 10, fadeIn: 10, tail: 3000, fadeOut: 10, shape: 1, mayOverlap: true };
  /** Cut while it is still loud: it fades for as long as it may. */
  const ring = { ...rang, fadeOut: 1000 };
  const stopped = { playedOn: false, start: [3], tailLevels: falling(0.1) };

  test('the end rings on as far as there is a tail', () => {
    expect(decided(stopped)).toEqual(ring);
    expect(decided({ ...stopped, tail: 700 })).toEqual({ ...ring, tail: 700, fadeOut: 525 });
  });

  test('it rings until it has fallen by 48 dB', () => {
    // 2.1 dB every 20 ms: the first level under −48 dB is the 23rd, which begins at 440 ms.
    const loud = falling(2.1).map((level) => level * 5);
    expect(decided({ ...stopped, endLevel: 0.5, leadLevel: 0.5, tailLevels: loud })).toEqual({ ...rang, tail: 440 });
  });

  test.each([
    // Levels fall by so many dB every 20 ms; those of the tail's last 20 ms are that much under the end's, times 150.
    [0.3, 45, 150],
    [0.31, 46.5, 75],
    [0.319, 47.85, 10],
  ])('what is cut fades for 50 ms for every dB that it is not lost yet: %f dB every 20 ms', (fall, under, fadeOut) => {
    expect(under).toBeCloseTo(150 * fall, 6);
    expect(decided({ ...stopped, tailLevels: falling(fall).map((level) => 5 * level), endLevel: 0.5 })).toEqual({
      ...rang,
      fadeOut,
    });
  });

  test('or is under −66 dBFS', () => {
    // From −40 dBFS, 2.1 dB every 20 ms: the first level under −66 is the 13th.
    const quiet = falling(2.1).map((level) => level / 10);
    expect(decided({ ...stopped, endLevel: 0.01, leadLevel: 0.05, tailLevels: quiet }).tail).toBe(240);
  });

  test('or until the next onset, a chair or another try', () => {
    expect(decided({ ...stopped, end: [-800, 900] })).toEqual({ ...ring, tail: 895, fadeOut: 671.3 });
  });

  test('a last stroke on the line that the beginning plays as well does not ring', () => {
    expect(decided({ ...stopped, end: [-20] })).toEqual(early(20));
    expect(decided({ ...stopped, end: [8] })).toEqual(crossfade);
  });

  test('a last stroke early at the line rings where the body begins with a rest', () => {
    expect(decided({ ...stopped, start: [400], end: [-20] })).toEqual(ring);
  });

  test('an early attack or a pickup sounds over the ringing', () => {
    const led = { lead: 25, fadeIn: 2, tail: 3000, fadeOut: 1000, shape: 1, mayOverlap: true };
    expect(decided({ ...stopped, start: [-20] })).toEqual({ ...led, kind: 'early-attack' });
    expect(decided({ ...stopped, start: [-500, 3], pickupMarked: true })).toEqual({
      ...led,
      kind: 'pickup',
      lead: 505,
    });
  });

  test.each([
    ['no tail exists', { tail: 0, tailLevels: [] }],
    ['the tail is too short to be heard', { tail: 15, tailLevels: [] }],
    ['the end is silent', { endLevel: 0.0004, tailLevels: falling(0) }],
    ['the tail is silent', { tailLevels: falling(60) }],
  ])('nothing rings where %s', (_why, said) => {
    expect(decided({ ...stopped, ...said })).toEqual(crossfade);
  });
});

describe('when nobody knows whether the player went on', () => {
  const unknown = { playedOn: null, start: [3] };

  test('a decaying end with nothing new within a beat rings on', () => {
    expect(decided({ ...unknown, tailLevels: falling(0.12) }).kind).toBe('let-ring');
    expect(decided({ ...unknown, tailLevels: falling(0.12), end: [620] })).toMatchObject({
      kind: 'let-ring',
      tail: 615,
    });
  });

  test.each([
    ['an onset follows within a beat', { tailLevels: falling(0.12), end: [380] }],
    ['the sound is held', {}],
    ['it hardly decays: 3 dB in a second', { tailLevels: falling(0.06) }],
    ['a tremolo is at its low point after a second', { tailLevels: tremolo }],
    ['there is no tail to tell from', { tail: 0, tailLevels: [] }],
  ])('it is a crossfade where %s', (_why, said) => {
    expect(decided({ ...unknown, ...said })).toEqual(crossfade);
  });
});

test('a correlation that is not a number is refused', () => {
  expect(() => decideSeam(evidence({ correlation: NaN }))).toThrow(QuantityError);
  expect(() => decideSeam(evidence({ correlation: NaN, playedOn: false }))).toThrow(QuantityError);
});

test('whatever was played, the answer can be played: whole frames that exist, fades inside of what sounds', () => {
  const onsets = fc
    .array(fc.integer({ min: -1000, max: 2000 }), { maxLength: 6 })
    .map((list) => list.sort((a, b) => a - b));
  const level = fc.double({ min: 0, max: 1, noNaN: true });
  const said = fc.record({
    rate: fc.constantFrom(...RATES),
    start: onsets,
    end: onsets,
    lead: fc.integer({ min: 0, max: 1500 }),
    tail: fc.integer({ min: 0, max: 3000 }),
    leadLevel: level,
    startLevel: level,
    endLevel: level,
    tailLevels: fc.array(level, { maxLength: 150 }),
    correlation: fc.double({ min: -1, max: 1, noNaN: true }),
    playedOn: fc.constantFrom(true, false, null),
    pickupMarked: fc.boolean(),
  });
  fc.assert(
    fc.property(said, (some) => {
      const given = evidence(some);
      const seam = decideSeam(given);
      expect(seam.leadFrames).toBeGreaterThanOrEqual(0);
      expect(seam.leadFrames).toBeLessThanOrEqual(given.lead);
      expect(seam.tailFrames).toBeLessThanOrEqual(given.tail);
      expect(seam.tailFrames).toBeGreaterThanOrEqual(-2.1 * given.beatFrames);
      expect(seam.fadeInFrames).toBeLessThanOrEqual(seam.leadFrames);
      expect(seam.fadeOutFrames).toBeGreaterThan(0);
      if (seam.tailFrames > 0) expect(seam.fadeOutFrames).toBeLessThanOrEqual(seam.tailFrames);
      for (const shape of [seam.fadeInShape, seam.fadeOutShape]) expect(shape >= 0 && shape <= 1).toBe(true);
    }),
  );
});
