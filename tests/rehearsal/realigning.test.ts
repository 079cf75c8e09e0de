import { describe, expect, test } from 'vitest';
import { asId, type LayerId, type RecordingId, type SectionId, type TakeId } from '../../src/core/song/ids.js';
import type { Layer } from '../../src/core/song/song.js';
import { bars, decibels, frames } from '../../src/core/units/index.js';
import type { TripMark } from '../../src/core/watch/alignments.js';
import { marksOf, markLeft, movedByHand } from '../../src/rehearsal/realigning.js';

const SECTION = asId<SectionId>('verse');

const markAt = (bar: number): TripMark => ({
  bar: bars(bar),
  lastBar: bars(bar),
  duringPass: true,
  kind: 'gaps-together',
  shift: null,
  how: 'unknown',
  within: frames(0),
});

/** A layer whose take is marked in its bars given. */
function layerOf(length: number, startBar: number, marked: readonly number[]): Layer {
  const take = asId<TakeId>('take');
  return {
    id: asId<LayerId>('bass'),
    name: 'Bass',
    gain: decibels(0),
    leftOut: false,
    takes: [
      {
        id: take,
        recording: asId<RecordingId>('recording'),
        channel: 0,
        bodyStart: frames(0),
        bodyFrames: frames(length * 96_000),
        lead: frames(0),
        tail: frames(0),
        startBar: bars(startBar),
        bars: bars(length),
        alignment: [{ fromBar: bars(0), roundTrip: frames(5000), how: 'measured', sure: true }],
        marks: marked.map(markAt),
        seam: { chosen: null, pickup: false, decided: null },
      },
    ],
    takeInUse: take,
    blendOf: [],
  };
}

describe('a mark is drawn in the bar of the section in which it sounds', () => {
  test.each<[length: number, startBar: number, section: number | null, at: number, bar: number, round: number]>([
    [4, 0, 4, 3, 3, 1],
    [4, 2, 4, 3, 1, 1],
    [4, 4, 8, 1, 5, 1],
    [16, 0, 8, 10, 2, 2],
    [16, 8, 8, 10, 2, 1],
    [16, 8, 8, 2, 2, 2],
    [16, 0, null, 10, 10, 1],
  ])('of %d bars, begun at bar %d of %s: its %d is bar %d of round %d', (length, start, section, at, bar, round) => {
    expect(marksOf(layerOf(length, start, [at]), section)).toEqual([{ mark: markAt(at), bar, round }]);
  });
});

describe('a take longer than its section', () => {
  const layer = layerOf(16, 8, [2, 10]);
  const second = marksOf(layer, 8)[1]!.mark;

  test('is moved from the bar of its own that was marked, and no other mark goes', () => {
    const edit = movedByHand(layer, SECTION, second.bar, frames(480));
    expect(edit?.alignment).toMatchObject([
      { fromBar: 0, roundTrip: 5000 },
      { fromBar: 10, roundTrip: 5480 },
    ]);
    expect(edit?.marks).toEqual([markAt(2)]);
  });

  test('is left as it is at the mark that was left, and keeps the other', () => {
    expect(markLeft(layer, SECTION, second)?.marks).toEqual([markAt(2)]);
  });
});

test.each([-1, 16, 2.5])('a take of 16 bars is not moved from its bar %s', (bar) => {
  expect(movedByHand(layerOf(16, 0, []), SECTION, bar as never, frames(480))).toBeNull();
});

test('what is not marked can not be left', () => {
  expect(markLeft(layerOf(4, 0, [1]), SECTION, markAt(2))).toBeNull();
  expect(markLeft(layerOf(4, 0, [1]), SECTION, { ...markAt(1), kind: 'hidden' })).toBeNull();
});
