import { describe, expect, test } from 'vitest';
import type { TripMark } from '../../src/core/watch/alignments.js';
import type { DisturbanceKind } from '../../src/core/watch/history.js';
import { bars, decibels, frames, milliseconds, sampleRate } from '../../src/core/units/index.js';
import type { MeasuringRefusal } from '../../src/rehearsal/round-trip-view.js';
import * as words from '../../src/ui/words-sound.js';

const RATE = sampleRate(48_000);
/** A sentence or more: begins with a capital, ends with a full stop, and holds no empty place. */
const SENTENCES = /^[A-Z][^{}]*\.$/;
const NOTHING_LEFT_OPEN = /undefined|NaN|null|Infinity|\[object/;

/** One of every kind, so that a new one cannot go without. */
const REFUSALS: { readonly [Type in MeasuringRefusal['type']]: MeasuringRefusal & { type: Type } } = {
  silence: { type: 'silence', peak: decibels(-98) },
  'noise-only': { type: 'noise-only', prominence: 1.2 },
  'too-weak': { type: 'too-weak', prominence: 3.1 },
  'too-late': { type: 'too-late', frames: frames(52_800), latest: frames(48_000) },
  'hidden-behind-reflections': { type: 'hidden-behind-reflections', frames: frames(4000), share: 0.3 },
  'monitoring-loop': { type: 'monitoring-loop', frames: frames(3744), every: frames(1008), ratio: 0.5 },
  clipped: { type: 'clipped', fullScale: 12, flatTops: 9 },
  'wrong-channel': { type: 'wrong-channel', channel: 1, frames: frames(3744), level: decibels(-40) },
  disagree: { type: 'disagree', values: [3744, 3744, 4056].map(frames), spread: frames(312) },
  'still-playing': { type: 'still-playing' },
  'monitor-is-on': { type: 'monitor-is-on' },
  stopped: { type: 'stopped' },
  'sound-gone': { type: 'sound-gone' },
};
const GIVEN = { channel: 0, rate: RATE, kind: 'whole' } as const;

describe.each(['cable', 'air'] as const)('a measurement by %s that came to nothing', (way) => {
  test.each(Object.values(REFUSALS))('says why and what to do: $type', (why) => {
    const said = words.measuringRefusedWords(why, { ...GIVEN, way });
    expect(said).toMatch(SENTENCES);
    expect(said).not.toMatch(NOTHING_LEFT_OPEN);
    expect(said.split(/[.:,] /).length).toBeGreaterThan(1);
  });
});

test('every refusal says something of its own', () => {
  const said = Object.values(REFUSALS).map((why) => words.measuringRefusedWords(why, { ...GIVEN, way: 'air' }));
  expect(new Set(said).size).toBe(said.length);
});

test.each([
  ['disagree', /78, 78, 84\.5 ms/],
  ['monitoring-loop', /every 21 ms/],
  ['too-late', /1100 ms/],
  ['wrong-channel', /on input 2, while input 1/],
] as const)('what was refused as %s says its figures', (type, figures) => {
  expect(words.measuringRefusedWords(REFUSALS[type], { ...GIVEN, way: 'air' })).toMatch(figures);
});

test('a check that comes too late is to be measured whole', () => {
  expect(words.measuringRefusedWords(REFUSALS['too-late'], { ...GIVEN, way: 'air', kind: 'check' })).toMatch(
    /Measure it/,
  );
});

test('a louder hiss is offered where it helps, and nowhere else', () => {
  const louder = Object.values(REFUSALS).filter(words.helpsToBeLouder);
  expect(louder.map(({ type }) => type)).toEqual(['silence', 'noise-only', 'too-weak']);
});

describe('how a round trip is known', () => {
  const now = new Date(2026, 10, 25, 9, 30);
  test.each([
    ['2026-11-25', 'today'],
    ['2026-11-24', 'yesterday'],
    ['2026-11-03', 'on 3 November'],
    ['2025-12-31', 'on 31 December 2025'],
  ])('measured at %s is said as %s', (iso, expected) => {
    expect(words.whenWords(iso, now)).toBe(expected);
    expect(words.sourceWords({ how: 'measured', measuredAt: iso }, now)).toBe(`measured ${expected}`);
  });

  test.each([
    [{ how: 'estimated', sure: false, isFresh: false }, 'It may be tens of milliseconds out.'],
    [{ how: 'stated', sure: true, isFresh: false }, 'As good as the figure you gave.'],
    [{ how: 'cable', sure: true, isFresh: true }, 'Certain to the frame.'],
    [
      { how: 'cable', sure: true, isFresh: true, within: frames(24) },
      'Good to ±0.5 ms: it moved since, by what the clocks say.',
    ],
    [{ how: 'measured', sure: false, isFresh: true }, 'Not certain: it may have moved since.'],
    [{ how: 'measured', sure: false, isFresh: false }, 'Not certain: it is from an earlier sitting.'],
    [
      { how: 'measured', sure: false, isFresh: true, clocks: { kind: 'two-clocks', ppm: 20 } },
      'Good to the millisecond: it changes all the time.',
    ],
  ] as const)('%o: %s', (trip, expected) => {
    expect(words.certaintyWords(trip, RATE)).toBe(expected);
  });

  test.each([
    [{ type: 'nothing' }, ''],
    [{ type: 'check-now' }, 'It may have moved since it was measured: a check takes a second.'],
    [{ type: 'measure-again' }, 'Not measured since the sound was opened: it takes some ten seconds.'],
    [
      { type: 'retake-from-bar', bar: bars(2) },
      'Something moved while bar 3 was under way, so its place is not known: record another take.',
    ],
  ] as const)('advice %o', (advice, expected) => {
    expect(words.adviceWords(advice, { isFresh: false })).toBe(expected);
  });

  test('to measure again what was measured in this sitting does not say that nothing was', () => {
    expect(words.adviceWords({ type: 'measure-again' }, { isFresh: true })).toBe(
      'What was measured may hold no more: measuring again takes some ten seconds.',
    );
  });

  test('a pair that sounds wireless is said to be, and a wired one recommended', () => {
    expect(words.deviceAdviceWords('fine')).toBe('');
    expect(words.deviceAdviceWords('wireless-likely')).toMatch(/wireless pair.*wired pair is recommended\.$/);
    expect(words.deviceAdviceWords('slow')).toMatch(/wired pair is recommended\.$/);
  });
});

describe('what goes on, and what was found', () => {
  test.each([
    [{ state: 'settling', seconds: 9 }, 'Letting it settle: 9 seconds more'],
    [{ state: 'settling', seconds: 1 }, 'Letting it settle: 1 second more'],
    [{ state: 'sending', shot: 2, of: 3 }, 'Listening: 2 of 3'],
    [{ state: 'sending', shot: 1, of: 1 }, 'Listening'],
    [{ state: 'searching' }, 'Searching'],
  ] as const)('%o', (view, expected) => {
    expect(words.progressWords(view)).toBe(expected);
  });

  test.each([
    [0, 'Just as it was: 78 ms, to the frame.'],
    [312, 'It had become longer by 312 frames (6.5 ms). From now on it is 78 ms.'],
    [-1, 'It had become shorter by 1 frame (0.02 ms). From now on it is 78 ms.'],
  ])('a check that finds it moved by %d frames', (by, expected) => {
    expect(words.foundWords({ type: 'checked', movedBy: frames(by), ms: milliseconds(78), isUsed: true }, RATE)).toBe(
      expected,
    );
  });

  test.each([
    [true, /^It moved while it was measured, as two clocks do: 78 ms, to the millisecond\.$/],
    [false, /Measure again in a minute/],
  ])('a round trip that drifts, its speed known: %s', (isKnown, expected) => {
    expect(words.foundWords({ type: 'drifted', ms: milliseconds(78), isKnown }, RATE)).toMatch(expected);
  });

  test('a way that turns the signal upside down is said to do no harm', () => {
    const found = {
      type: 'measured',
      frames: frames(3744),
      ms: milliseconds(78),
      prominence: 61.8,
      level: decibels(-40),
    } as const;
    expect(words.foundWords({ ...found, inverted: false }, RATE)).toMatch(/^Found: 78 ms.* 62 times above all else\.$/);
    expect(words.foundWords({ ...found, inverted: true }, RATE)).toContain('upside down, which does no harm');
  });
});

const KINDS: Readonly<Record<DisturbanceKind, true>> = {
  'output-gap': true,
  'cable-moved': true,
  'cable-lost': true,
  bridged: true,
  'gaps-together': true,
  'estimates-apart': true,
  'too-few-readings': true,
  'being-read': true,
  'input-full': true,
  'silence-inserted': true,
  'input-shifted': true,
  'input-unclear': true,
  'calls-missed': true,
  opening: true,
  unseen: true,
  'long-ago': true,
  suspended: true,
  resumed: true,
  'input-reopened': true,
  'clock-jumped': true,
  hidden: true,
};

const mark = (change: Partial<TripMark> = {}): TripMark => ({
  bar: bars(2),
  lastBar: bars(2),
  duringPass: true,
  kind: 'output-gap',
  shift: frames(312),
  how: 'read',
  within: frames(24),
  ...change,
});

describe('a mark', () => {
  test.each(Object.keys(KINDS) as DisturbanceKind[])('says what happened: %s', (kind) => {
    expect(words.happenedWords(mark({ kind }))).toMatch(SENTENCES);
    const before = words.happenedWords(mark({ kind, duringPass: false }));
    expect(before).toMatch(/^Before this was played: [A-Z]/);
    expect(before).not.toMatch(/ here\b/);
  });

  test('no two kinds are said alike', () => {
    const said = (Object.keys(KINDS) as DisturbanceKind[]).map((kind) => words.happenedWords(mark({ kind })));
    expect(new Set(said).size).toBe(said.length);
  });

  test.each([
    [{}, 'put-right', 'Moved 312 frames (6.5 ms) earlier from here on by what the clocks said: accurate to ±0.5 ms.'],
    [
      { shift: frames(-96), how: 'exact', within: frames(0) },
      'put-right',
      'Moved 96 frames (2 ms) later from here on by count: to the frame.',
    ],
    [
      { kind: 'bridged', shift: frames(0), within: frames(20) },
      'put-right',
      'Nothing had to be moved: accurate to ±0.4 ms.',
    ],
    [{ shift: null, how: 'unknown' }, 'unsure', /is not known, so nothing was moved\. All you played is kept\.$/],
    [{ shift: frames(300), how: 'unknown' }, 'unsure', /is not known, so nothing was moved/],
    [
      { kind: 'opening', shift: null, how: 'unknown' },
      'unsure',
      'It lies by what was known of the round trip later, which may have settled by some frames since.',
    ],
    [{ kind: 'being-read', shift: null, how: 'unknown' }, 'being-read', 'Go on playing; nothing is lost.'],
  ] as const)('%o is %s', (change, state, said) => {
    expect(words.markState(mark(change))).toBe(state);
    const expected: unknown = typeof said === 'string' ? said : expect.stringMatching(said);
    expect(words.repairedWords(mark(change), RATE)).toEqual(expected);
  });

  test('is called by its layer and its bar as players count it', () => {
    const unsure = mark({ bar: bars(10), shift: null, how: 'unknown' });
    expect(words.markLabel('Bass', 2, 1, unsure)).toBe('Bass, bar 3: place unsure');
    expect(words.markLabel('Bass', 2, 2, unsure)).toBe('Bass, bar 3, round 2: place unsure');
  });
});
