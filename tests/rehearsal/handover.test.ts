import { describe, expect, test } from 'vitest';
import { asId, type LayerId } from '../../src/core/song/ids.js';
import { levelOf } from '../../src/core/song/levels.js';
import { takeInUse } from '../../src/core/song/lookups.js';
import type { Layer, Section, Song } from '../../src/core/song/song.js';
import { bars, decibels, frames } from '../../src/core/units/index.js';
import { Handover } from '../../src/rehearsal/handover.js';
import { ferrySong } from '../core/song/arbitraries.js';
import { layerNamed } from '../ui/support/harbour-ferry.js';

const section = ferrySong().sections[0]!.id;
const songOf = (layers: readonly Layer[], recede = 0): Song => ({
  ...ferrySong(),
  sections: [{ ...ferrySong().sections[0]!, bars: bars(4), layers, recede: decibels(recede) }],
});
const sectionOf = (song: Song): Section => song.sections[0]!;
const names = (song: Song): readonly string[] =>
  sectionOf(song).layers.map(({ name, leftOut }) => (leftOut ? `(${name})` : name));
const levels = (song: Song, ids: readonly LayerId[]) =>
  ids.map((id) =>
    levelOf(
      sectionOf(song),
      sectionOf(song).layers.findIndex((layer) => layer.id === id),
    ),
  );

const oars = layerNamed('Oars');
const rope = layerNamed('Rope');
const bell = layerNamed('Bell');
const none = (): boolean => false;

/** A handover that plays the layers. */
function playing(layers: readonly Layer[], recede = 0): Handover {
  const handover = new Handover(none);
  handover.next(songOf(layers, recede), section, false, 1);
  return handover;
}

describe('from one song to the next', () => {
  test('is one step while nothing plays', () => {
    const song = songOf([bell]);
    expect(playing([oars]).next(song, section, false, 2)).toBe(song);
  });

  test('is one step where the engine has what comes: it played it, or recorded it', () => {
    const handover = playing([oars, rope]);
    const fewer = songOf([oars]);
    expect(handover.next(fewer, section, true, 2)).toBe(fewer);
    const more = songOf([oars, bell]);
    const recorded = new Handover((recording) => recording === takeInUse(bell).recording);
    recorded.next(fewer, section, false, 1);
    expect(recorded.next(more, section, true, 2)).toBe(more);
  });

  test('goes by the old one, with what comes silent beside it, until the engine has that', () => {
    const handover = playing([oars, rope]);
    const blended = songOf([bell]);
    const between = handover.next(blended, section, true, 2);
    expect(names(between)).toEqual(['Oars', 'Rope', '(Bell)']);
    expect(handover.isReady(1)).toBe(false);
    expect(handover.isReady(2)).toBe(true);
    expect(handover.next(blended, section, true, 3)).toBe(blended);
  });

  test('keeps the old take of a layer until the new one is there', () => {
    const again = { ...takeInUse(oars), id: asId<Layer['takeInUse']>('again') };
    const retaken: Layer = { ...oars, takes: [...oars.takes, again], takeInUse: again.id };
    const between = sectionOf(playing([oars, rope]).next(songOf([retaken, rope]), section, true, 2));
    expect(between.layers.map(({ takeInUse: used, leftOut }) => [used, leftOut])).toEqual([
      [oars.takeInUse, false],
      [rope.takeInUse, false],
      [again.id, true],
    ]);
    expect(new Set(between.layers.map(({ id }) => id)).size).toBe(3);
  });

  test('keeps a take as it was until the engine has where it lies now', () => {
    const take = takeInUse(oars);
    const [held] = take.alignment;
    const alignment = [held!, { ...held!, fromBar: bars(2), roundTrip: frames(held!.roundTrip + 300) }];
    const moved: Layer = { ...oars, takes: [{ ...take, alignment }] };
    const between = sectionOf(playing([oars]).next(songOf([moved]), section, true, 2));
    expect(between.layers.map(({ takes, leftOut }) => [takes[0]?.alignment.length, leftOut])).toEqual([
      [1, false],
      [2, true],
    ]);
    // What is only known better moves nothing.
    const surer = songOf([{ ...oars, takes: [{ ...take, alignment: [{ ...held!, sure: !held!.sure }] }] }]);
    expect(playing([oars]).next(surer, section, true, 2)).toBe(surer);
  });

  test('leaves every level where it is, whatever recedes', () => {
    const before = songOf([oars, rope, bell], 3);
    const handover = playing(sectionOf(before).layers, 3);
    const quay = layerNamed('Quay');
    const between = handover.next(songOf([oars, quay], 3), section, true, 2);
    const ids = [oars.id, rope.id, bell.id];
    expect(levels(between, ids)).toEqual(levels(before, ids));
  });
});
