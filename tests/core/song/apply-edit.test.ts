import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { PulseValue } from '../../../src/core/meter/metre.js';
import { applyEdit } from '../../../src/core/song/apply-edit.js';
import type { Edit, EditRefusal } from '../../../src/core/song/edits.js';
import { asId, type LayerId, type SectionId, type TakeId } from '../../../src/core/song/ids.js';
import { songFault } from '../../../src/core/song/invariants.js';
import type { Idea, Layer, Song, Take } from '../../../src/core/song/song.js';
import { SongError } from '../../../src/core/song/song-error.js';
import { bars, bpm, decibels, frames } from '../../../src/core/units/index.js';
import { deepFrozen, editMakers, ferrySong, songs } from './arbitraries.js';

const section = asId<SectionId>('section-a');
const shakerId = asId<LayerId>('layer-shaker');

const take: Take = {
  id: asId('take-1'),
  recording: asId('recording-1'),
  channel: 0,
  bodyStart: frames(4800),
  bodyFrames: frames(480_000),
  lead: frames(2400),
  tail: frames(0),
  startBar: bars(0),
  bars: bars(4),
  alignment: [{ fromBar: bars(0), roundTrip: frames(4928), how: 'measured', sure: true }],
  seam: { chosen: null, pickup: false, decided: null },
};
const shaker: Layer = {
  id: shakerId,
  name: 'Shaker',
  gain: decibels(0),
  leftOut: false,
  takes: [take],
  takeInUse: take.id,
  blendOf: [],
};
const addShaker: Edit = { type: 'add-layers', section, layers: [shaker], sectionBars: bars(4) };
const emptySong = deepFrozen(ferrySong());
const layeredSong = deepFrozen(after(emptySong, addShaker));

function after(song: Song, edit: Edit): Song {
  const result = applyEdit(song, edit);
  if (!result.ok) throw new Error(`Got ${result.reason} when expected a song.`);
  return result.value;
}

const tempo = (value: number): Edit => ({ type: 'set-tempo', bpm: bpm(value) });
const length = (value: number | null): Edit => ({
  type: 'set-section-bars',
  section,
  bars: value === null ? null : bars(value),
});
const countIn = (value: number | null): Edit => ({ type: 'set-count-in', bars: value === null ? null : bars(value) });
const gain = (value: number): Edit => ({ type: 'set-layer-gain', section, layer: shakerId, gain: decibels(value) });
const recede = (value: number): Edit => ({ type: 'set-recede', section, recede: decibels(value) });
const rename = (name: string): Edit => ({ type: 'rename-layer', section, layer: shakerId, name });
const metre = (groups: readonly number[], num: number, den = 4, mark: readonly [number, number] = [1, 4]): Edit => ({
  type: 'set-metre',
  metre: { num, den: den as PulseValue, groups },
  mark: { num: mark[0], den: mark[1] as PulseValue },
});

describe('an edit within its limits', () => {
  test.each<[string, Edit, (song: Song) => unknown, unknown]>([
    [
      'a title, without the white space at its ends',
      { type: 'retitle', title: '  Slack water ' },
      (s) => s.title,
      'Slack water',
    ],
    ['a title of 200 characters', { type: 'retitle', title: 'é'.repeat(200) }, (s) => s.title, 'é'.repeat(200)],
    [
      'a title of 200 characters beyond the basic plane',
      { type: 'retitle', title: '🎶'.repeat(200) },
      (s) => s.title,
      '🎶'.repeat(200),
    ],
    ['the slowest tempo', tempo(20), (s) => s.tempo.bpm, 20],
    ['the fastest tempo', tempo(400), (s) => s.tempo.bpm, 400],
    ['a tempo between whole numbers', tempo(92.5), (s) => s.tempo.bpm, 92.5],
    ['a bar of one pulse', metre([1], 1), (s) => s.metre, { num: 1, den: 4, groups: [1] }],
    ['a bar of 32 pulses', metre([16, 16], 32, 32), (s) => s.metre, { num: 32, den: 32, groups: [16, 16] }],
    ['6/8 in two', metre([3, 3], 6, 8, [3, 8]), (s) => s.tempo.mark, { num: 3, den: 8 }],
    ['7/8 as 2+2+3', metre([2, 2, 3], 7, 8, [1, 8]), (s) => s.metre.groups, [2, 2, 3]],
    ['one bar of count-in', countIn(1), (s) => s.countIn, 1],
    ['two bars of count-in', countIn(2), (s) => s.countIn, 2],
    ['the click off', { type: 'set-click', on: false }, (s) => s.click, { on: false, gain: -12 }],
    ['the shortest section', length(1), (s) => s.sections[0]?.bars, 1],
    ['the longest section', length(64), (s) => s.sections[0]?.bars, 64],
    ['how far layers recede', recede(1.5), (s) => s.sections[0]?.recede, 1.5],
    ['how far layers recede at most', recede(24), (s) => s.sections[0]?.recede, 24],
  ])('sets %s', (_, edit, read, expected) => {
    expect(read(after(emptySong, edit))).toEqual(expected);
  });

  test.each<[string, Edit, (layer: Layer | undefined) => unknown, unknown]>([
    ['a name, without the white space at its ends', rename(' Egg shaker\n'), (l) => l?.name, 'Egg shaker'],
    ['the lowest gain', gain(-60), (l) => l?.gain, -60],
    ['the highest gain', gain(12), (l) => l?.gain, 12],
    ['silence', { type: 'leave-out', section, layer: shakerId, out: true }, (l) => l?.leftOut, true],
  ])('sets %s of a layer', (_, edit, read, expected) => {
    expect(read(after(layeredSong, edit).sections[0]?.layers[0])).toEqual(expected);
  });

  test('opens a section again while nothing is recorded', () => {
    expect(after(after(emptySong, length(8)), length(null)).sections[0]?.bars).toBeNull();
  });
});

describe('adding layers', () => {
  test('gives an open section its length', () => {
    expect(layeredSong.sections[0]).toEqual({ ...emptySong.sections[0], bars: 4, layers: [shaker] });
  });

  test('leaves the length of a section that has one', () => {
    const two: Layer = {
      ...shaker,
      id: asId('layer-2'),
      takes: [{ ...take, id: asId('take-2') }],
      takeInUse: asId('take-2'),
    };
    const song = after(layeredSong, { type: 'add-layers', section, layers: [two], sectionBars: bars(999) });
    expect(song.sections[0]?.bars).toBe(4);
    expect(song.sections[0]?.layers).toEqual([shaker, two]);
  });

  test('adds all that one pass played, in one edit', () => {
    const bell: Layer = {
      ...shaker,
      id: asId('layer-bell'),
      takes: [{ ...take, id: asId('take-bell'), channel: 1 }],
      takeInUse: asId('take-bell'),
    };
    const song = after(emptySong, { type: 'add-layers', section, layers: [shaker, bell], sectionBars: bars(4) });
    expect(song.sections[0]?.layers).toEqual([shaker, bell]);
  });

  test('adds none of them where one is refused', () => {
    const bell: Layer = {
      ...shaker,
      id: asId('b'),
      name: ' ',
      takes: [{ ...take, id: asId('tb') }],
      takeInUse: asId('tb'),
    };
    const edit: Edit = { type: 'add-layers', section, layers: [shaker, bell], sectionBars: bars(4) };
    expect(applyEdit(emptySong, edit)).toEqual({ ok: false, reason: 'name-empty' });
  });

  test('takes the white space off the ends of its name', () => {
    const edit: Edit = { ...addShaker, layers: [{ ...shaker, name: ' Shaker ' }] };
    expect(after(emptySong, edit)).toEqual(layeredSong);
  });

  test.each<[string, Partial<Layer>]>([
    ['without takes', { takes: [] }],
    ['whose take in use is not one of its takes', { takeInUse: asId<TakeId>('take-9') }],
    ['with one take twice', { takes: [take, take] }],
    ['with a take of no frames', { takes: [{ ...take, bodyFrames: frames(0) }] }],
    ['with a take of no bars', { takes: [{ ...take, bars: bars(0) }] }],
    ['with a take from before the section', { takes: [{ ...take, startBar: bars(-1) }] }],
    ['with a take of half a channel', { takes: [{ ...take, channel: 0.5 }] }],
    ['with a negative lead', { takes: [{ ...take, lead: frames(-1) }] }],
    ['with a negative tail', { takes: [{ ...take, tail: frames(-1) }] }],
    ['with a take that is not aligned', { takes: [{ ...take, alignment: [] }] }],
    [
      'aligned from a later bar only',
      { takes: [{ ...take, alignment: [{ ...take.alignment[0]!, fromBar: bars(1) }] }] },
    ],
    ['aligned twice from the same bar', { takes: [{ ...take, alignment: [take.alignment[0]!, take.alignment[0]!] }] }],
  ])('throws for a layer %s, a mistake of the program', (_, change) => {
    expect(() => applyEdit(emptySong, { ...addShaker, layers: [{ ...shaker, ...change }] })).toThrow(SongError);
  });

  test('throws for a layer, or a take, that the song has already', () => {
    expect(() => applyEdit(layeredSong, addShaker)).toThrow(SongError);
    expect(() =>
      applyEdit(layeredSong, { ...addShaker, layers: [{ ...shaker, id: asId<LayerId>('layer-2') }] }),
    ).toThrow(SongError);
  });
});

describe('ideas', () => {
  const idea: Idea = {
    id: asId('idea-1'),
    recording: asId('recording-2'),
    channel: 0,
    start: frames(96_000),
    frames: frames(240_000),
    at: '2031-05-04T19:30:00.000Z',
  };
  const kept = after(layeredSong, { type: 'add-idea', idea });

  test('are kept with the song, whatever is in its sections', () => {
    expect(kept).toEqual({ ...layeredSong, ideas: [idea] });
    expect(kept.sections).toBe(layeredSong.sections);
  });

  test('go again', () => {
    expect(after(kept, { type: 'drop-idea', idea: idea.id })).toEqual(layeredSong);
    expect(applyEdit(layeredSong, { type: 'drop-idea', idea: idea.id })).toEqual({ ok: false, reason: 'no-such-idea' });
  });
});

describe('an edit beyond its limits is refused', () => {
  test.each<[string, Edit, EditRefusal]>([
    ['a tempo below 20', tempo(19.99), 'tempo-out-of-range'],
    ['a tempo above 400', tempo(400.01), 'tempo-out-of-range'],
    ['a bar without pulses', metre([], 0), 'metre-out-of-range'],
    ['a bar of 33 pulses', metre([32, 1], 33), 'metre-out-of-range'],
    ['half a pulse', metre([0.5], 0.5), 'metre-out-of-range'],
    ['groups that do not add up', metre([2, 3], 4), 'metre-out-of-range'],
    ['a group without pulses', metre([0, 4], 4), 'metre-out-of-range'],
    ['a group of less than nothing', metre([-1, 5], 4), 'metre-out-of-range'],
    ['pulses of a third', metre([3], 3, 3), 'metre-out-of-range'],
    ['pulses of a sixty-fourth', metre([3], 3, 64), 'metre-out-of-range'],
    ['a mark of no note', metre([3], 3, 4, [0, 4]), 'metre-out-of-range'],
    ['a mark that no note shows', metre([5], 5, 8, [5, 8]), 'metre-out-of-range'],
    ['a mark longer than a dotted whole note', metre([3], 3, 1, [3, 1]), 'metre-out-of-range'],
    ['32 beats, more than can be marked in a bar,', metre(Array<number>(32).fill(1), 32), 'metre-out-of-range'],
    ['a mark in thirds', metre([3], 3, 4, [1, 3]), 'metre-out-of-range'],
    ['a section of no bars', length(0), 'bars-out-of-range'],
    ['a section of 65 bars', length(65), 'bars-out-of-range'],
    ['a first pass of 65 bars', { ...addShaker, sectionBars: bars(65) }, 'bars-out-of-range'],
    ['a first pass of no bars', { ...addShaker, sectionBars: bars(0) }, 'bars-out-of-range'],
    ['layers that come nearer', recede(-0.1), 'recede-out-of-range'],
    ['layers that recede out of hearing', recede(24.1), 'recede-out-of-range'],
    ['no bars of count-in', countIn(0), 'count-in-out-of-range'],
    ['three bars of count-in', countIn(3), 'count-in-out-of-range'],
    ['an empty title', { type: 'retitle', title: '' }, 'name-empty'],
    ['a title of white space', { type: 'retitle', title: ' \t\n ' }, 'name-empty'],
    ['a title of 201 characters', { type: 'retitle', title: 'n'.repeat(201) }, 'name-too-long'],
    ['a new layer without a name', { ...addShaker, layers: [{ ...shaker, name: ' ' }] }, 'name-empty'],
    ['a new layer with a long name', { ...addShaker, layers: [{ ...shaker, name: 'n'.repeat(201) }] }, 'name-too-long'],
    [
      'a new layer that is too loud',
      { ...addShaker, layers: [{ ...shaker, gain: decibels(12.1) }] },
      'gain-out-of-range',
    ],
    [
      'a length for a section that is not there',
      { ...length(4), section: asId<SectionId>('b') } as Edit,
      'no-such-section',
    ],
    ['a layer for a section that is not there', { ...addShaker, section: asId<SectionId>('b') }, 'no-such-section'],
    ['a name for a layer that is not there', rename('Shaker'), 'no-such-layer'],
  ])('%s, in an empty song', (_, edit, reason) => {
    expect(applyEdit(emptySong, edit)).toEqual({ ok: false, reason });
  });

  test.each<[string, Edit, EditRefusal]>([
    ['a gain below −60 dB', gain(-60.1), 'gain-out-of-range'],
    ['a gain above 12 dB', gain(12.1), 'gain-out-of-range'],
    ['a gain of silence', gain(-Infinity), 'gain-out-of-range'],
    ['an empty name', rename('  '), 'name-empty'],
    ['a name of 201 characters', rename('é'.repeat(201)), 'name-too-long'],
    [
      'a layer of a section that is not there',
      { ...rename('x'), section: asId<SectionId>('b') } as Edit,
      'no-such-section',
    ],
    ['another layer than there is', { ...gain(0), layer: asId<LayerId>('b') } as Edit, 'no-such-layer'],
    ['another tempo', tempo(97), 'layers-hold-the-grid'],
    ['another metre', metre([3], 3), 'layers-hold-the-grid'],
    ['another grouping', metre([2, 2], 4), 'layers-hold-the-grid'],
    ['another mark', metre([1, 1, 1, 1], 4, 4, [1, 2]), 'layers-hold-the-grid'],
    ['another length', length(8), 'layers-hold-the-grid'],
    ['an open length', length(null), 'layers-hold-the-grid'],
    ['a tempo out of range, before anything else,', tempo(500), 'tempo-out-of-range'],
  ])('%s, in a song with a layer', (_, edit, reason) => {
    expect(applyEdit(layeredSong, edit)).toEqual({ ok: false, reason });
  });
});

describe('an edit that changes nothing', () => {
  test.each<[string, Edit]>([
    ['the title there is', { type: 'retitle', title: ' Last ferry ' }],
    ['the tempo there is', tempo(96)],
    ['the metre and mark there are', metre([1, 1, 1, 1], 4)],
    ['the count-in there is', countIn(null)],
    ['the click as it is', { type: 'set-click', on: true }],
    ['the length there is', length(4)],
    ['the receding there is', recede(0)],
    ['the name there is', rename('Shaker ')],
    ['the gain there is', gain(0)],
    ['what is left in already', { type: 'leave-out', section, layer: shakerId, out: false }],
  ])('gives the same song back, layers or not: %s', (_, edit) => {
    const result = applyEdit(layeredSong, edit);
    expect(result.ok && result.value).toBe(layeredSong);
  });
});

describe('what an edit does not touch', () => {
  test('is shared: the tempo when only the metre changes, the metre when only the mark does', () => {
    const waltz = after(emptySong, metre([1, 1, 1], 3));
    expect(waltz.tempo).toBe(emptySong.tempo);
    const inHalves = after(emptySong, metre([1, 1, 1, 1], 4, 4, [1, 2]));
    expect(inHalves.metre).toBe(emptySong.metre);
    expect(inHalves.tempo).toEqual({ bpm: 96, mark: { num: 1, den: 2 } });
  });
});

const comes = new Set<Edit['type']>(['add-layers', 'add-take', 'blend', 'add-idea']);
const goes = new Set<Edit['type']>(['take-apart', 'drop-idea']);

describe('every edit', () => {
  test('leaves the old song alone, keeps what holds of every song, and shares what it did not touch', () => {
    fc.assert(
      fc.property(songs, editMakers, (song, make) => {
        const old = deepFrozen(song);
        const edit = deepFrozen(make(old, 1));
        const result = applyEdit(old, edit);
        expect(songFault(old)).toBeNull();
        if (!result.ok) return;
        expect(songFault(result.value)).toBeNull();
        if (edit.type !== 'retitle') expect(result.value.title).toBe(old.title);
        if (!('section' in edit)) expect(result.value.sections).toBe(old.sections);
        result.value.sections.forEach((each, index) => {
          if (!('section' in edit) || each.id !== edit.section) expect(each).toBe(old.sections[index]);
        });
      }),
    );
  });

  test('asked for twice in a row changes nothing the second time; what came or went cannot do so twice', () => {
    fc.assert(
      fc.property(songs, editMakers, (song, make) => {
        const edit = make(song, 1);
        const once = applyEdit(song, edit);
        if (!once.ok) return;
        if (comes.has(edit.type)) {
          expect(() => applyEdit(once.value, edit)).toThrow(SongError);
        } else if (goes.has(edit.type)) {
          expect(applyEdit(once.value, edit).ok).toBe(false);
        } else {
          const twice = applyEdit(once.value, edit);
          expect(twice.ok && twice.value).toBe(once.value);
        }
      }),
    );
  });
});
