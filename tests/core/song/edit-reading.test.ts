import { describe, expect, test } from 'vitest';
import { openHistory } from '../../../src/core/history/open-history.js';
import { nextToTakeBack, record, songOf, takeBack } from '../../../src/core/history/steps.js';
import { applyEdit } from '../../../src/core/song/apply-edit.js';
import type { Edit } from '../../../src/core/song/edits.js';
import { asId } from '../../../src/core/song/ids.js';
import type { LayerId, RecordingId, SectionId, TakeId } from '../../../src/core/song/ids.js';
import type { Layer, Song, Take } from '../../../src/core/song/song.js';
import { SongError } from '../../../src/core/song/song-error.js';
import { bars, bpm, decibels, frames } from '../../../src/core/units/index.js';
import { deepFrozen, ferrySong } from './arbitraries.js';

const SECTION = asId<SectionId>('section-a');
/** 480,000 frames are four bars of 4/4 at 96, and five at 120. */
const BODY = frames(480_000);

function takeNamed(id: string, change: Partial<Take> = {}): Take {
  return {
    id: asId<TakeId>(id),
    recording: asId<RecordingId>('recording'),
    channel: 0,
    bodyStart: frames(96_000),
    bodyFrames: BODY,
    lead: frames(96_000),
    tail: frames(192_000),
    startBar: bars(0),
    bars: bars(4),
    alignment: [{ fromBar: bars(0), roundTrip: frames(4000), how: 'estimated', sure: false }],
    seam: { chosen: null, pickup: false, decided: null },
    ...change,
  };
}

function layerNamed(id: string, change: Partial<Take> = {}): Layer {
  const take = takeNamed(`take of ${id}`, change);
  return {
    id: asId<LayerId>(id),
    name: id,
    gain: decibels(0),
    leftOut: false,
    takes: [take],
    takeInUse: take.id,
    blendOf: [],
  };
}

function songWith(layers: readonly Layer[]): Song {
  const song = ferrySong();
  return deepFrozen({ ...song, sections: song.sections.map((section) => ({ ...section, bars: bars(4), layers })) });
}

const reading = (tempo: number, count: number, bodyFrames: number, first = false): Edit => ({
  type: 'read-as',
  first,
  section: SECTION,
  bpm: bpm(tempo),
  bars: bars(count),
  bodyFrames: frames(bodyFrames),
});

function after(song: Song, edit: Edit): Song {
  const result = applyEdit(song, edit);
  if (!result.ok) throw new Error(`Got ${result.reason} when expected a song.`);
  return result.value;
}

describe('a loop that is all there is', () => {
  const song = songWith([layerNamed('Guitar'), layerNamed('Voice', { channel: 1 })]);

  test('can be read as other bars: tempo, section and every channel of it follow', () => {
    const read = after(song, reading(120, 5, 480_000));
    expect(read.tempo).toEqual({ ...song.tempo, bpm: 120 });
    expect(read.sections[0]?.bars).toBe(5);
    expect(read.sections[0]?.layers.map(({ takes }) => [takes[0]?.bars, takes[0]?.bodyFrames])).toEqual([
      [5, 480_000],
      [5, 480_000],
    ]);
  });

  test('begins where it began; what the body gains by rounding, the tail gives', () => {
    const take = after(song, reading(48_000 * 240 * (1 / 160_001), 3, 480_003)).sections[0]?.layers[0]?.takes[0];
    expect(take).toMatchObject({ bodyStart: 96_000, bodyFrames: 480_003, tail: 191_997, lead: 96_000 });
  });

  test('keeps the seam that was heard where that still lies within the take, else is listened to anew', () => {
    const decided = {
      kind: 'let-ring',
      leadFrames: frames(0),
      fadeInFrames: frames(0),
      fadeInShape: 0,
      tailFrames: frames(191_999),
      fadeOutFrames: frames(480),
      fadeOutShape: 0,
      mayOverlap: true,
    } as const;
    const heard = songWith([layerNamed('Guitar', { seam: { chosen: null, pickup: false, decided } })]);
    const seamAfter = (edit: Edit) => after(heard, edit).sections[0]?.layers[0]?.takes[0]?.seam.decided;
    expect(seamAfter(reading(120, 5, 480_000))).toEqual(decided);
    expect(seamAfter(reading(48_000 * 240 * (1 / 160_001), 3, 480_003))).toBeNull();
  });

  test.each<[number, number, readonly (readonly [number, number])[]]>([
    [192, 8, [[0, 4000], [2, 4100], [6, 4050]]], // prettier-ignore
    [120, 5, [[0, 4000], [1, 4100], [4, 4050]]], // prettier-ignore
    [72, 3, [[0, 4000], [1, 4100], [2, 4050]]], // prettier-ignore
    [48, 2, [[0, 4000], [1, 4100]]], // prettier-ignore
  ])('jumps at the nearest line where it jumped: read at %i as %i bars', (tempo, count, expected) => {
    const alignment = [[0, 4000] as const, [1, 4100] as const, [3, 4050] as const].map(([bar, trip]) => ({
      fromBar: bars(bar),
      roundTrip: frames(trip),
      how: 'estimated' as const,
      sure: true,
    }));
    const moved = songWith([layerNamed('Guitar', { alignment })]);
    const take = after(moved, reading(tempo, count, 480_000)).sections[0]?.layers[0]?.takes[0];
    expect(take?.alignment.map(({ fromBar, roundTrip }) => [fromBar, roundTrip])).toEqual(expected);
  });

  test('read as it is read already is the very same song', () => {
    expect(after(song, reading(96, 4, 480_000))).toBe(song);
  });

  test('with a body that is not those bars is a mistake of the program, and of a journal damage', () => {
    const wrong = reading(120, 5, 480_001);
    expect(() => applyEdit(song, wrong)).toThrow(SongError);
    expect(openHistory({ base: song, edits: [{ seq: 1, edit: wrong, at: '' }], cursor: 1 })).toEqual({
      ok: false,
      reason: 'broken-part',
    });
  });
});

describe('the reading is refused', () => {
  const second = layerNamed('Shaker', { bodyStart: frames(600_000) });
  const loop = layerNamed('Guitar');
  const twice: Layer = { ...loop, takes: [...loop.takes, takeNamed('another')] };

  test.each<[string, Song, Edit, string]>([
    [
      'where something was layered over the loop',
      songWith([loop, second]),
      reading(120, 5, 480_000),
      'layers-hold-the-grid',
    ],
    ['where another take was recorded', songWith([twice]), reading(120, 5, 480_000), 'layers-hold-the-grid'],
    ['where nothing was played', songWith([]), reading(120, 5, 480_000), 'no-such-layer'],
    ['below the slowest tempo', songWith([loop]), reading(19, 1, 606_316), 'tempo-out-of-range'],
    ['for more bars than a section has', songWith([loop]), reading(120, 65, 65 * 96_000), 'bars-out-of-range'],
    [
      'in a section that is not there',
      songWith([loop]),
      { ...reading(120, 5, 480_000), section: asId<SectionId>('nowhere') } as Edit,
      'layers-hold-the-grid',
    ],
  ])('%s', (_, song, edit, reason) => {
    expect(applyEdit(song, edit)).toEqual({ ok: false, reason });
  });
});

describe('taking back', () => {
  const add = (layer: Layer): Edit => ({ type: 'add-layers', section: SECTION, layers: [layer], sectionBars: bars(5) });
  const start = { songs: [ferrySong()], edits: [], cursor: 0 };
  const recorded = (edits: readonly Edit[]) =>
    edits.reduce<ReturnType<typeof takeBack>>((history, edit) => {
      const result = record(history, edit, '2031-05-04T19:30:00.000Z');
      if (!result.ok) throw new Error(`Got ${result.reason} when expected a history.`);
      return result.value;
    }, start);

  test('a loop takes its first reading along: one step, and the tempo is what it was', () => {
    const history = recorded([add(layerNamed('Guitar', { bars: bars(5) })), reading(120, 5, 480_000, true)]);
    expect(songOf(history)).toMatchObject({ tempo: { bpm: 120 }, sections: [{ bars: 5 }] });
    expect(songOf(takeBack(history))).toEqual(ferrySong());
  });

  test('a reading that the player chose is a step of its own: the loop stays', () => {
    const history = recorded([
      add(layerNamed('Guitar', { bars: bars(5) })),
      reading(120, 5, 480_000, true),
      reading(96, 4, 480_000),
    ]);
    expect(nextToTakeBack(history)?.type).toBe('read-as');
    const before = songOf(takeBack(history));
    expect(before).toMatchObject({ tempo: { bpm: 120 }, sections: [{ bars: 5 }] });
    expect(before.sections[0]?.layers).toHaveLength(1);
  });
});
