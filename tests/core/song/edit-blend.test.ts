import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { applyEdit } from '../../../src/core/song/apply-edit.js';
import type { Edit, EditRefusal } from '../../../src/core/song/edits.js';
import { asId, type LayerId, type SectionId } from '../../../src/core/song/ids.js';
import { songFault } from '../../../src/core/song/invariants.js';
import { everyLayer } from '../../../src/core/song/queries.js';
import type { Layer, Section, Song } from '../../../src/core/song/song.js';
import { bars, decibels } from '../../../src/core/units/index.js';
import { deepFrozen, ferrySong, layerNamed } from './arbitraries.js';

const layers = fc
  .sample(layerNamed, { numRuns: 5, seed: 11 })
  .map((make, index) => make(['oars', 'rope', 'boots', 'bell', 'deck'][index]!));
const [oars, rope, boots, bell] = layers as [Layer, Layer, Layer, Layer];
const fresh = layers[4]!;
const into: Layer = { ...fresh, takes: fresh.takes.map((take) => ({ ...take, bars: bars(4) })) };
const section: Section = { ...ferrySong().sections[0]!, bars: bars(4), layers: [oars, rope, boots, bell] };
const song: Song = deepFrozen({ ...ferrySong(), sections: [section] });

const blended = (...ids: readonly LayerId[]): Edit => ({ type: 'blend', section: section.id, layers: ids, into });
const apart = (layer: LayerId): Edit => ({ type: 'take-apart', section: section.id, layer });

function after(from: Song, edit: Edit): Song {
  const result = applyEdit(from, edit);
  if (!result.ok) throw new Error(`Got ${result.reason} when expected a song.`);
  expect(songFault(result.value)).toBeNull();
  return deepFrozen(result.value);
}
const names = (from: Song): readonly string[] => from.sections[0]!.layers.map(({ id }) => id);

describe('a blend', () => {
  test('stands where the first of its layers stood, and keeps them in their order, as they were', () => {
    const one = after(song, blended(boots.id, rope.id));
    expect(one.sections[0]!.layers).toEqual([oars, { ...into, blendOf: [rope, boots] }, bell]);
  });

  test('taken apart gives its layers back, in its place', () => {
    const one = after(song, blended(oars.id, boots.id));
    expect(names(one)).toEqual(['deck', 'rope', 'bell']);
    expect(names(after(one, apart(into.id)))).toEqual(['oars', 'boots', 'rope', 'bell']);
    expect(after(after(song, blended(rope.id, boots.id)), apart(into.id))).toEqual(song);
  });

  test('of any layers loses none, and taken apart they are all as they were', () => {
    fc.assert(
      fc.property(
        fc.subarray(
          section.layers.map(({ id }) => id),
          { minLength: 2 },
        ),
        (ids) => {
          const one = after(song, blended(...ids));
          expect(one.sections[0]!.layers).toHaveLength(5 - ids.length);
          for (const layer of section.layers) expect(everyLayer(one)).toContain(layer);
          const again = after(one, apart(into.id)).sections[0]!.layers;
          expect(new Set(again)).toEqual(new Set(section.layers));
        },
      ),
    );
  });

  test('can go into another, and comes out of it whole', () => {
    const one = after(song, blended(oars.id, rope.id));
    const outer = {
      ...bell,
      id: asId<LayerId>('quay'),
      takes: into.takes.map((take) => ({ ...take, id: asId(`q-${take.id}`) })),
    };
    const edit: Edit = {
      type: 'blend',
      section: section.id,
      layers: [into.id, bell.id],
      into: { ...outer, takeInUse: outer.takes[0]!.id } as Layer,
    };
    const two = after(one, edit);
    expect(names(two)).toEqual(['quay', 'boots']);
    expect(everyLayer(two).map(({ id }) => id)).toEqual(['quay', 'deck', 'oars', 'rope', 'bell', 'boots']);
    expect(names(after(two, apart(outer.id)))).toEqual(['deck', 'bell', 'boots']);
  });

  test.each<[string, Edit, EditRefusal]>([
    ['of nothing', blended(), 'too-few-to-blend'],
    ['of one layer', blended(oars.id), 'too-few-to-blend'],
    ['of one layer named twice', blended(oars.id, oars.id), 'too-few-to-blend'],
    ['of a layer that is not there', blended(oars.id, asId<LayerId>('x')), 'no-such-layer'],
    [
      'in a section that is not there',
      { ...blended(oars.id, rope.id), section: asId<SectionId>('x') } as Edit,
      'no-such-section',
    ],
    ['without a name', { ...blended(oars.id, rope.id), into: { ...into, name: ' ' } } as Edit, 'name-empty'],
    [
      'that is too loud',
      { ...blended(oars.id, rope.id), into: { ...into, gain: decibels(13) } } as Edit,
      'gain-out-of-range',
    ],
    [
      'of 65 bars',
      {
        ...blended(oars.id, rope.id),
        into: { ...into, takes: into.takes.map((take) => ({ ...take, bars: bars(65) })) },
      } as Edit,
      'blend-too-long',
    ],
  ])('%s is refused', (_, edit, reason) => {
    expect(applyEdit(song, edit)).toEqual({ ok: false, reason });
  });

  test.each<[string, Edit, EditRefusal]>([
    ['a layer that was played', apart(oars.id), 'not-a-blend'],
    ['a layer that is not there', apart(asId<LayerId>('x')), 'no-such-layer'],
    ['a layer of no section', { ...apart(oars.id), section: asId<SectionId>('x') } as Edit, 'no-such-section'],
  ])('nothing takes apart %s', (_, edit, reason) => {
    expect(applyEdit(song, edit)).toEqual({ ok: false, reason });
  });
});
