import { describe, expect, test } from 'vitest';
import type { Edit } from '../../src/core/song/edits.js';
import { NO_SEAM } from '../../src/core/seam/seam.js';
import { asId } from '../../src/core/song/ids.js';
import { bars, bpm, decibels, frames } from '../../src/core/units/index.js';
import type { Next, Notice, SwitchMeaning, TransportView } from '../../src/rehearsal/snapshot.js';
import * as words from '../../src/ui/words.js';
import { layerNamed, READY, SECTION } from './support/harbour-ferry.js';

const layer = layerNamed('Whistle');
const take = layer.takes[0]!;
const inTake = { section: SECTION, layer: layer.id, take: take.id };

describe('figures', () => {
  test.each([
    [96, '96'],
    [96.2, '96.2'],
    [96.204, '96.2'],
    [-3, '−3'],
    [0, '0'],
    [0.1 + 0.2, '0.3'],
  ])('%d is written %s', (value, text) => {
    expect(words.figure(value)).toBe(text);
  });
});

describe('the mark', () => {
  test.each([
    [1, 4, '96 quarter notes a minute'],
    [3, 8, '96 dotted quarter notes a minute'],
    [1, 8, '96 eighth notes a minute'],
  ] as const)('counts %d/%d as %s', (num, den, text) => {
    expect(words.tempoWords(96, { num, den })).toBe(text);
  });
});

describe('taps', () => {
  test.each([
    [{ taps: 1, bpm: null, spread: null }, '1 tap: go on'],
    [{ taps: 3, bpm: bpm(95.96), spread: null }, '3 taps: 96'],
    [{ taps: 8, bpm: bpm(96.24), spread: 0.74 }, '8 taps: 96.2, give or take 0.7'],
  ])('%o read "%s"', (taps, text) => {
    expect(words.tapWords({ ...taps, other: null })).toBe(text);
  });

  test('have another reading behind them', () => {
    expect(words.otherTempoWords(40.04)).toBe('or 40');
  });
});

describe('the now line', () => {
  const view = (change: Partial<TransportView>): TransportView => ({ ...READY, pressMeans: 'play', ...change });

  test.each<[Partial<TransportView>, string, string]>([
    [{ state: 'stopped' }, 'Stopped', ''],
    [{ state: 'stopped', pressMeans: 'record' }, 'Ready when you are', ''],
    [{ state: 'counting-in', bar: 1, bars: 2, layerName: 'Guide' }, 'Counting in', 'bar 1 of 2'],
    [{ state: 'playing', bar: 3, bars: 4 }, 'Playing', 'bar 3 of 4'],
    [{ state: 'waiting', bar: 4, bars: 4, layerName: 'Shaker' }, 'Waiting for the bar', 'bar 4 of 4'],
    [{ state: 'recording', bar: 7, bars: null, layerName: 'Guide' }, 'Recording Guide', 'bar 7'],
    [{ state: 'layering', bar: 3, bars: 4, layerName: 'Shaker' }, 'Layering Shaker', 'bar 3 of 4'],
    [{ state: 'layering', bar: 3, bars: 4 }, 'Layering', 'bar 3 of 4'],
  ])('says of %o: %s, %s', (change, state, bar) => {
    expect([words.stateWords(view(change)), words.barWords(view(change))]).toEqual([state, bar]);
  });

  // The types see to it that each list is whole: a missing or an unknown value does not compile.
  const next: Readonly<Record<Next, true>> = {
    nothing: true,
    'recording-starts': true,
    'recording-goes-on': true,
    'closes-by-itself': true,
    'free-goes-on': true,
    'end-is-found': true,
    'closing-at-the-line': true,
    'loop-plays': true,
    'goes-round-again': true,
    'layering-starts': true,
    'plays-on': true,
  };
  const meanings: Readonly<Record<SwitchMeaning, true>> = {
    record: true,
    'record-freely': true,
    play: true,
    'take-it-back': true,
    'new-layer': true,
    'close-the-loop': true,
    'go-round-again': true,
    'do-not-go-round': true,
  };

  test.each(Object.keys(next) as Next[])('says what follows in a sentence: %s', (follows) => {
    expect(words.nextWords(view({ next: follows }))).toMatch(/^[A-Z].+\.$/);
  });

  test('gives every meaning of the switch words of its own', () => {
    const said = (Object.keys(meanings) as SwitchMeaning[]).map((meaning) => words.switchWords(meaning));
    expect(new Set(said).size).toBe(said.length);
    expect(said.every((text) => /^[A-Z]/.test(text))).toBe(true);
  });
});

const EDITS: readonly Edit[] = [
  { type: 'retitle', title: 'Slack Water' },
  { type: 'set-tempo', bpm: bpm(96) },
  { type: 'set-metre', metre: { num: 3, den: 4, groups: [1, 1, 1] }, mark: { num: 1, den: 4 } },
  { type: 'set-count-in', bars: bars(1) },
  { type: 'set-click', on: true },
  { type: 'set-section-bars', section: SECTION, bars: bars(8) },
  { type: 'add-layers', section: SECTION, layers: [layer], sectionBars: bars(4) },
  { type: 'rename-layer', section: SECTION, layer: layer.id, name: 'Low whistle' },
  { type: 'leave-out', section: SECTION, layer: layer.id, out: true },
  { type: 'set-layer-gain', section: SECTION, layer: layer.id, gain: decibels(-3) },
  { type: 'set-recede', section: SECTION, recede: decibels(1.5) },
  { type: 'add-take', section: SECTION, layer: layer.id, take },
  { type: 'use-take', ...inTake },
  { type: 'set-seam', ...inTake, seam: NO_SEAM },
  { type: 'choose-seam', ...inTake, chosen: 'let-ring', pickup: false },
  { type: 'realign', ...inTake, alignment: take.alignment },
  { type: 'blend', section: SECTION, layers: [layer.id, layerNamed('Reeds').id], into: layer },
  { type: 'take-apart', section: SECTION, layer: layer.id },
  {
    type: 'add-idea',
    idea: { id: asId('idea'), recording: take.recording, channel: 0, start: frames(0), frames: frames(1), at: '' },
  },
  { type: 'drop-idea', idea: asId('idea') },
  { type: 'set-stretches', section: SECTION, stretches: [], settles: false },
];

describe('notices', () => {
  const notices: { readonly [Type in Notice['type']]: Extract<Notice, { type: Type }> } = {
    'edit-refused': { type: 'edit-refused', reason: 'tempo-out-of-range' },
    'setting-refused': { type: 'setting-refused', reason: 'grace-out-of-range' },
    'storage-refused': { type: 'storage-refused', reason: 'storage-full' },
    'stop-for-devices': { type: 'stop-for-devices' },
    'stop-first': { type: 'stop-first' },
    'pass-dropped': { type: 'pass-dropped' },
    'taken-back': { type: 'taken-back', edit: EDITS[1]! },
    'put-back': { type: 'put-back', edit: EDITS[6]! },
    'layer-kept': { type: 'layer-kept', name: 'Whistle', bars: 4 },
    'layers-kept': { type: 'layers-kept', names: ['Whistle', 'Reeds'], bars: 4 },
    'take-kept': { type: 'take-kept', name: 'Whistle', bars: 4 },
    'loop-read': { type: 'loop-read', name: 'Whistle', bars: 4, bpm: bpm(96), sure: true },
    'no-reading': { type: 'no-reading' },
    'that-kept': { type: 'that-kept', name: 'Whistle', bars: 4, leftOut: 0, heldBars: null },
    'cut-kept': { type: 'cut-kept', seconds: 17.4 },
    'idea-kept': { type: 'idea-kept', seconds: 12.3 },
    'nothing-to-keep': { type: 'nothing-to-keep', why: 'nothing-heard' },
    'sound-missing': { type: 'sound-missing', layer: 'Whistle' },
    'input-lost': { type: 'input-lost' },
    'take-moved': { type: 'take-moved', name: 'Bass', ms: 12.34 },
    'memory-full': { type: 'memory-full' },
    'cable-lost': { type: 'cable-lost' },
  };

  test.each<[Notice, string]>([
    [
      { type: 'loop-read', name: 'Whistle', bars: 4, bpm: bpm(96.0042), sure: true },
      'Whistle is in, read as 4 bars at 96.',
    ],
    [
      { type: 'loop-read', name: 'Whistle', bars: 1, bpm: bpm(120), sure: false },
      'Whistle is in, read as 1 bar at 120. Its end is where you pressed: what you played did not say more.',
    ],
    [
      { type: 'that-kept', name: 'Whistle', bars: 4, leftOut: 0, heldBars: null },
      'Whistle is what you just played, 4 bars.',
    ],
    [
      { type: 'that-kept', name: 'Whistle', bars: 2, leftOut: 1, heldBars: null },
      'Whistle is what you just played, 2 bars. 1 bar before that would not go round with the loop.',
    ],
    [{ type: 'cut-kept', seconds: 17.4 }, 'Kept as an idea, as it had not come to its end: 17 seconds.'],
    [
      { type: 'that-kept', name: 'Whistle', bars: 5, leftOut: 0, heldBars: 5 },
      'Whistle is what you just played, 5 bars. At this tempo only the last 5 bars are sure to be held.',
    ],
    [{ type: 'idea-kept', seconds: 12.3 }, 'Kept as an idea: the last 12 seconds you played.'],
    [{ type: 'nothing-to-keep', why: 'not-listening' }, 'Nothing was heard yet: open the sound first.'],
    [{ type: 'nothing-to-keep', why: 'kept-already' }, 'That is kept already.'],
  ])('%o reads "%s"', (notice, text) => {
    expect(words.noticeWords(notice)).toBe(text);
  });

  test.each(Object.values(notices))('are whole sentences: $type', (notice) => {
    expect(words.noticeWords(notice)).toMatch(/^[A-Z].+\.$/);
  });

  test('name what was taken back, put back and kept', () => {
    expect(words.noticeWords(notices['taken-back'])).toBe('Taken back: the tempo.');
    expect(words.noticeWords(notices['put-back'])).toBe('Put back: Whistle.');
    expect(words.noticeWords(notices['layer-kept'])).toBe('Whistle is in, 4 bars.');
    expect(words.noticeWords(notices['layers-kept'])).toBe('Whistle and Reeds are in, 4 bars.');
    expect(words.noticeWords(notices['take-kept'])).toBe('Another take of Whistle is in, 4 bars.');
  });

  test('a take that was moved is said to lie elsewhere, and not to be certain there', () => {
    expect(words.noticeWords({ type: 'take-moved', name: 'Bass', ms: 41.7 })).toBe(
      'Bass lies 41.7 ms earlier now, by what is known of the round trip.',
    );
    expect(words.noticeWords({ type: 'take-moved', name: 'Bass', ms: -2 })).toContain('2 ms later now');
  });

  test('are problems where something was refused or lost', () => {
    const problems = Object.values(notices).filter((notice) => words.isProblem(notice));
    expect(problems.map((notice) => notice.type)).toEqual([
      'edit-refused',
      'setting-refused',
      'storage-refused',
      'stop-for-devices',
      'stop-first',
      'no-reading',
      'nothing-to-keep',
      'sound-missing',
      'input-lost',
      'memory-full',
      'cable-lost',
    ]);
  });

  test.each(EDITS)('have a short name for each edit: $type', (edit) => {
    const named = words.editWords(edit);
    expect(named.length).toBeGreaterThan(3);
    expect(named).not.toMatch(/[.!]$/);
  });
});

describe('limits in refusals are those of the song', () => {
  test.each([
    ['tempo-out-of-range', '20 and 400'],
    ['bars-out-of-range', '1 to 64'],
    ['count-in-out-of-range', '2 bars'],
    ['gain-out-of-range', '−60 to +12 dB'],
    ['name-too-long', '200'],
  ] as const)('%s says %s', (reason, limits) => {
    expect(words.editRefusedWords(reason)).toContain(limits);
  });
});

describe('where it is kept', () => {
  test.each([
    [{ state: 'kept' }, 'kept on this computer'],
    [{ state: 'saving' }, 'being written down'],
    [{ state: 'not-kept', reason: 'storage-full' }, 'not kept: there is no room left for this page on the disk.'],
  ] as const)('%o is said as "%s"', (keeping, text) => {
    expect(words.keepingWords(keeping)).toBe(text);
  });
});

describe('a stave in words', () => {
  const stave = { name: 'Bass', attacks: 8, bars: 4, gain: 0, leftOut: false, unsure: false, live: false };

  test('says its bars and attacks', () => {
    expect(words.inkWords(stave)).toBe('4 bars, 8 attacks');
    expect(words.inkWords({ ...stave, bars: 1, attacks: 1 })).toBe('1 bar, 1 attack');
    expect(words.inkWords({ ...stave, attacks: null })).toBe('4 bars, being read');
    expect(words.inkWords({ ...stave, live: true })).toBe('the part in hand, 8 attacks so far');
  });

  test.each([
    [{}, ''],
    [{ gain: -3 }, '−3'],
    [{ gain: 1.5 }, '+1.5'],
    [{ leftOut: true }, 'left out'],
    [{ leftOut: true, gain: -6 }, 'left out · −6'],
    [{ unsure: true }, 'place unsure'],
  ])('has in its margin only what deviates: %o is "%s"', (change, text) => {
    expect(words.marginWords({ ...stave, ...change })).toBe(text);
  });
});

test('every seam has words of its own', () => {
  const kinds = ['crossfade', 'early-attack', 'pickup', 'let-ring'] as const;
  const said = kinds.map((kind) => words.seamWords(kind));
  expect(new Set(said).size).toBe(kinds.length);
  expect(said.every((text) => /^[a-z]/.test(text))).toBe(true);
});

test('the caution asks for headphones and a quiet start, and leaves how loud to the rules of the place', () => {
  expect(words.CAUTION).toMatch(/headphones.*quietly.*advice where you live/);
});

test('new songs and layers have names', () => {
  expect(words.newSongTitle).not.toBe('');
  expect(words.newLayerName(3)).toBe('Layer 3');
});
