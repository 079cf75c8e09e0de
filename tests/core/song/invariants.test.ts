import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { asId, type TakeId } from '../../../src/core/song/ids.js';
import { newLayerFault, songFault } from '../../../src/core/song/invariants.js';
import type { Layer, Section, Song } from '../../../src/core/song/song.js';
import { bars, bpm, decibels } from '../../../src/core/units/index.js';
import { ferrySong, layerNamed, songs } from './arbitraries.js';

const layer = (prefix: string): Layer => fc.sample(layerNamed, { numRuns: 1, seed: 7 })[0]!(prefix);
const sound = ferrySong();
const section: Section = { ...sound.sections[0]!, bars: bars(4), layers: [layer('one'), layer('two')] };
const withSection = (change: Partial<Section>): Song => ({ ...sound, sections: [{ ...section, ...change }] });
const withLayer = (change: Partial<Layer>): Song => withSection({ layers: [{ ...layer('one'), ...change }] });

describe('songFault', () => {
  test('finds nothing in songs that hold', () => {
    expect(songFault(withSection({}))).toBeNull();
    fc.assert(
      fc.property(songs, (song) => {
        expect(songFault(song)).toBeNull();
      }),
    );
  });

  test.each<[string, Song, RegExp]>([
    ['no title', { ...sound, title: '' }, /title/],
    ['white space at the end of the title', { ...sound, title: 'Last ferry ' }, /title/],
    ['a tempo out of range', { ...sound, tempo: { ...sound.tempo, bpm: bpm(10) } }, /tempo-out-of-range/],
    ['a metre that does not add up', { ...sound, metre: { ...sound.metre, num: 5 } }, /metre-out-of-range/],
    ['a count-in out of range', { ...sound, countIn: bars(3) }, /count-in-out-of-range/],
    ['a click out of range', { ...sound, click: { on: true, gain: decibels(20) } }, /gain-out-of-range/],
    ['no section', { ...sound, sections: [] }, /no section/],
    ['a section twice', { ...sound, sections: [sound.sections[0]!, sound.sections[0]!] }, /section twice/],
    ['a section without a mark', withSection({ mark: '' }), /mark/],
    ['a section without a name', withSection({ name: '' }), /name of a section/],
    ['a section that is too long', withSection({ bars: bars(65) }), /bars-out-of-range/],
    ['layers over an open section', withSection({ bars: null }), /open length/],
    ['a layer twice', withSection({ layers: [layer('one'), layer('one')] }), /layer twice/],
    [
      'one take in two layers',
      withSection({ layers: [layer('one'), { ...layer('one'), id: asId('x') }] }),
      /take twice/,
    ],
    ['a layer without a name', withLayer({ name: '' }), /name of a layer/],
    ['a layer out of range', withLayer({ gain: decibels(-61) }), /gain-out-of-range/],
    ['a layer without takes', withLayer({ takes: [] }), /without takes/],
    ['a take in use that is not there', withLayer({ takeInUse: asId<TakeId>('x') }), /take in use/],
  ])('finds %s', (_, song, words) => {
    expect(songFault(song)).toMatch(words);
  });
});

describe('newLayerFault', () => {
  test('finds nothing in a layer whose identities are new', () => {
    expect(newLayerFault(withSection({}), layer('three'))).toBeNull();
  });

  test('leaves name and gain to the edit, which refuses them in words for the player', () => {
    expect(newLayerFault(sound, { ...layer('one'), name: '', gain: decibels(99) })).toBeNull();
  });

  test('finds a layer, and a take, that the song has already', () => {
    expect(newLayerFault(withSection({}), layer('two'))).toMatch(/layer twice/);
    expect(newLayerFault(withSection({}), { ...layer('two'), id: asId('x') })).toMatch(/take twice/);
  });
});
