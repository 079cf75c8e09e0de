import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { NO_SEAM, type Seam } from '../../../src/core/seam/seam.js';
import type { Edit } from '../../../src/core/song/edits.js';
import { asId, type LayerId, type TakeId } from '../../../src/core/song/ids.js';
import { songFault } from '../../../src/core/song/invariants.js';
import { newPartsFault } from '../../../src/core/song/new-parts.js';
import type { Idea, Layer, Section, Song } from '../../../src/core/song/song.js';
import { bars, bpm, decibels, frames } from '../../../src/core/units/index.js';
import { ferrySong, layerNamed, songs } from './arbitraries.js';

const layer = (prefix: string): Layer => fc.sample(layerNamed, { numRuns: 1, seed: 7 })[0]!(prefix);
const sound = ferrySong();
const section: Section = { ...sound.sections[0]!, bars: bars(4), layers: [layer('one'), layer('two')] };
const place = { section: section.id, layer: layer('one').id };
const take = layer('one').takes[0]!;
const inTake = { ...place, take: take.id };
const idea: Idea = {
  id: asId('idea'),
  recording: asId('recording-1'),
  channel: 0,
  start: frames(0),
  frames: frames(9),
  at: '2031-05-04T19:30:00.000Z',
};
const seam = (change: Partial<Record<'leadFrames' | 'tailFrames' | 'fadeOutFrames', number>>): Seam => ({
  ...NO_SEAM,
  ...Object.fromEntries(Object.entries(change).map(([name, value]) => [name, frames(value)])),
});
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
    ['layers that come nearer', withSection({ recede: decibels(-1) }), /recede-out-of-range/],
    ['a blend of one layer', withLayer({ blendOf: [layer('two')] }), /blend of one/],
    [
      'a layer in a blend without takes',
      withLayer({ blendOf: [{ ...layer('two'), takes: [] }, layer('x')] }),
      /without/,
    ],
    ['a layer in its own blend', withLayer({ blendOf: [layer('one'), layer('two')] }), /layer twice/],
    ['an idea twice', { ...sound, ideas: [idea, idea] }, /idea twice/],
    ['an idea from before its recording', { ...sound, ideas: [{ ...idea, start: frames(-1) }] }, /first frame/],
    [
      'a seam that cannot be',
      withLayer({ takes: [{ ...take, seam: { ...take.seam, decided: seam({ leadFrames: take.lead + 1 }) } }] }),
      /of lead/,
    ],
  ])('finds %s', (_, song, words) => {
    expect(songFault(song)).toMatch(words);
  });
});

describe('newPartsFault', () => {
  const added = (...layers: readonly Layer[]): Edit => ({
    type: 'add-layers',
    section: section.id,
    layers,
    sectionBars: bars(4),
  });

  test('finds nothing in a layer whose identities are new', () => {
    expect(newPartsFault(withSection({}), added(layer('three'), layer('four')))).toBeNull();
  });

  test('leaves name and gain to the edit, which refuses them in words for the player', () => {
    expect(newPartsFault(sound, added({ ...layer('one'), name: '', gain: decibels(99) }))).toBeNull();
  });

  test.each<[string, Edit, RegExp]>([
    ['no layer at all', added(), /no layer/],
    ['a layer that the song has', added(layer('two')), /layer twice/],
    ['a take that the song has', added({ ...layer('two'), id: asId<LayerId>('x') }), /take twice/],
    ['two layers that are one', added(layer('three'), layer('three')), /layer twice/],
    [
      'a layer that comes as a blend',
      added({ ...layer('three'), blendOf: [layer('four'), layer('five')] }),
      /others in/,
    ],
    ['a take that a layer has', { type: 'add-take', ...place, take }, /take twice/],
    ['a take of no frames', { type: 'add-take', ...place, take: { ...take, bodyFrames: frames(0) } }, /frames of body/],
    ['a seam beyond the lead', { type: 'set-seam', ...inTake, seam: seam({ leadFrames: take.lead + 1 }) }, /of lead/],
    ['a seam beyond the tail', { type: 'set-seam', ...inTake, seam: seam({ tailFrames: take.tail + 1 }) }, /of tail/],
    [
      'a seam that leaves nothing',
      { type: 'set-seam', ...inTake, seam: seam({ tailFrames: -take.bodyFrames }) },
      /of tail/,
    ],
    [
      'a fade of more than a second',
      { type: 'set-seam', ...inTake, seam: seam({ fadeOutFrames: 192_001 }) },
      /fade out/,
    ],
    ['a fade of no shape', { type: 'set-seam', ...inTake, seam: { ...NO_SEAM, fadeInShape: 1.1 } }, /shapes/],
    ['an alignment of no bars', { type: 'realign', ...inTake, alignment: [] }, /alignment/],
    ['an idea of no frames', { type: 'add-idea', idea: { ...idea, frames: frames(0) } }, /frames of an idea/],
    ['an idea that the song has', { type: 'add-idea', idea }, /idea twice/],
    ['a blend that is there', { type: 'blend', section: section.id, layers: [], into: layer('one') }, /layer twice/],
  ])('finds %s', (_, edit, words) => {
    expect(newPartsFault({ ...withSection({}), ideas: [idea] }, edit)).toMatch(words);
  });
});
