import { describe, expect, test } from 'vitest';
import { NO_SEAM, type Seam } from '../../../src/core/seam/seam.js';
import { applyEdit } from '../../../src/core/song/apply-edit.js';
import type { Edit, EditRefusal } from '../../../src/core/song/edits.js';
import { asId, type LayerId, type SectionId, type TakeId } from '../../../src/core/song/ids.js';
import type { Alignment, Layer, Section, Song, Take } from '../../../src/core/song/song.js';
import { SongError } from '../../../src/core/song/song-error.js';
import { bars, decibels, frames } from '../../../src/core/units/index.js';
import { deepFrozen, ferrySong } from './arbitraries.js';

const alignment: readonly Alignment[] = [
  { fromBar: bars(0), roundTrip: frames(4928), how: 'estimated', sure: false },
  { fromBar: bars(2), roundTrip: frames(5000), how: 'estimated', sure: false },
];
const first: Take = {
  id: asId('take-1'),
  recording: asId('recording-1'),
  channel: 0,
  bodyStart: frames(100_928),
  bodyFrames: frames(480_000),
  lead: frames(100_928),
  tail: frames(192_000),
  startBar: bars(0),
  bars: bars(4),
  alignment,
  seam: { chosen: null, pickup: false, decided: null },
};
const second: Take = { ...first, id: asId('take-2'), bodyStart: frames(700_000), channel: 1 };
const shaker: Layer = {
  id: asId('layer-shaker'),
  name: 'Shaker',
  gain: decibels(0),
  leftOut: false,
  takes: [first],
  takeInUse: first.id,
  blendOf: [],
};
const section: Section = { ...ferrySong().sections[0]!, bars: bars(4), layers: [shaker] };
const song: Song = deepFrozen({ ...ferrySong(), sections: [section] });
const inLayer = { section: section.id, layer: shaker.id };
const inTake = { ...inLayer, take: first.id };
const ring: Seam = { ...NO_SEAM, kind: 'let-ring', tailFrames: frames(96_000), fadeOutFrames: frames(480) };

function after(from: Song, ...edits: readonly Edit[]): Song {
  return edits.reduce((before, edit) => {
    const result = applyEdit(before, edit);
    if (!result.ok) throw new Error(`Got ${result.reason} when expected a song.`);
    return deepFrozen(result.value);
  }, from);
}
const layerOf = (from: Song): Layer => from.sections[0]!.layers[0]!;
const takeOf = (from: Song): Take => layerOf(from).takes[0]!;

describe('another take', () => {
  const two = after(song, { type: 'add-take', ...inLayer, take: second });

  test('lies behind the others and becomes the one in use', () => {
    expect(layerOf(two)).toEqual({ ...shaker, takes: [first, second], takeInUse: second.id });
  });

  test('is one of those that can be used', () => {
    const back = after(two, { type: 'use-take', ...inTake });
    expect(layerOf(back)).toEqual({ ...shaker, takes: [first, second] });
    expect(after(back, { type: 'use-take', ...inTake })).toBe(back);
  });

  test('throws where the song has it already, a mistake of the program', () => {
    expect(() => applyEdit(two, { type: 'add-take', ...inLayer, take: second })).toThrow(SongError);
  });
});

describe('a seam', () => {
  test('that was heard is kept with its take', () => {
    const heard = after(song, { type: 'set-seam', ...inTake, seam: ring });
    expect(takeOf(heard).seam).toEqual({ chosen: null, pickup: false, decided: ring });
    expect(after(heard, { type: 'set-seam', ...inTake, seam: { ...ring } })).toBe(heard);
  });

  test.each<[string, Pick<Extract<Edit, { type: 'choose-seam' }>, 'chosen' | 'pickup'>]>([
    ['chosen', { chosen: 'let-ring', pickup: false }],
    ['marked as begun by a pickup', { chosen: null, pickup: true }],
  ])('that is %s is to be listened for anew', (_, wish) => {
    const heard = after(song, { type: 'set-seam', ...inTake, seam: ring });
    const chosen = after(heard, { type: 'choose-seam', ...inTake, ...wish });
    expect(takeOf(chosen).seam).toEqual({ ...wish, decided: null });
    expect(after(chosen, { type: 'choose-seam', ...inTake, ...wish })).toBe(chosen);
  });

  test('that is wished for as it was stays as it was', () => {
    const heard = after(song, { type: 'set-seam', ...inTake, seam: ring });
    expect(after(heard, { type: 'choose-seam', ...inTake, chosen: null, pickup: false })).toBe(heard);
  });
});

describe('a better round trip', () => {
  const better = (...trips: readonly number[]): Edit => ({
    type: 'realign',
    ...inTake,
    alignment: trips.map((trip, index) => ({
      fromBar: bars(2 * index),
      roundTrip: frames(trip),
      how: 'measured',
      sure: true,
    })),
  });

  test.each([-128, 1, 308])('of %i frames more moves the window by as much, and nothing of the audio', (by) => {
    const moved = takeOf(after(song, better(4928 + by)));
    expect(moved).toMatchObject({
      recording: first.recording,
      bodyStart: first.bodyStart + by,
      bodyFrames: first.bodyFrames,
      lead: first.lead + by,
      tail: first.tail - by,
    });
  });

  test('is listened to anew: other frames lie at the lines', () => {
    const heard = after(song, { type: 'set-seam', ...inTake, seam: ring });
    expect(takeOf(after(heard, better(4930))).seam.decided).toBeNull();
  });

  test('that says the same of the first bar, and something else of later ones, leaves the window where it is', () => {
    const heard = after(song, { type: 'set-seam', ...inTake, seam: ring });
    const moved = takeOf(after(heard, better(4928, 5010)));
    expect(moved).toMatchObject({ bodyStart: first.bodyStart, lead: first.lead, tail: first.tail });
    expect(moved.alignment).toHaveLength(2);
  });

  test('is listened to anew where other frames lie at the last line, and only there', () => {
    const heard = after(song, { type: 'set-seam', ...inTake, seam: ring });
    expect(takeOf(after(heard, better(4928, 5010))).seam.decided).toBeNull();
    // Behind bar 2 another round trip held already; where it is known better by now, nothing has moved.
    expect(takeOf(after(heard, better(4928, 5000))).seam.decided).toEqual(ring);
  });

  test('and the one before it again, and the window is where it was', () => {
    const there = after(song, better(5236));
    expect(takeOf(after(there, { type: 'realign', ...inTake, alignment }))).toEqual(first);
  });

  test('never leaves less than nothing round a body', () => {
    expect(takeOf(after(song, better(-100_001))).lead).toBe(0);
    expect(takeOf(after(song, better(300_000))).tail).toBe(0);
  });

  test('that is the same changes nothing', () => {
    expect(after(song, { type: 'realign', ...inTake, alignment: structuredClone(alignment) })).toBe(song);
  });
});

describe('a take that is not there', () => {
  const nowhere = { ...inTake, take: asId<TakeId>('take-9') };
  const edits: readonly Edit[] = [
    { type: 'use-take', ...nowhere },
    { type: 'set-seam', ...nowhere, seam: ring },
    { type: 'choose-seam', ...nowhere, chosen: 'pickup', pickup: true },
    { type: 'realign', ...nowhere, alignment },
  ];

  test.each(edits)('is refused: $type', (edit) => {
    expect(applyEdit(song, edit)).toEqual({ ok: false, reason: 'no-such-take' satisfies EditRefusal });
  });

  test.each<Edit>([...edits, { type: 'add-take', ...inLayer, take: second }])(
    'and neither are its layer or its section: $type',
    (edit) => {
      const elsewhere = { ...edit, layer: asId<LayerId>('layer-9') } as Edit;
      expect(applyEdit(song, elsewhere)).toEqual({ ok: false, reason: 'no-such-layer' satisfies EditRefusal });
      const away = { ...edit, section: asId<SectionId>('section-9') } as Edit;
      expect(applyEdit(song, away)).toEqual({ ok: false, reason: 'no-such-section' satisfies EditRefusal });
    },
  );
});
