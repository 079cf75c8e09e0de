import { describe, expect, test } from 'vitest';
import { asId, type SectionId, type SongId } from '../../../src/core/song/ids.js';
import { songFault } from '../../../src/core/song/invariants.js';
import { newSong } from '../../../src/core/song/new-song.js';
import { SongError } from '../../../src/core/song/song-error.js';
import { sampleRate } from '../../../src/core/units/index.js';

const parts = { id: asId<SongId>('s'), sectionId: asId<SectionId>('a'), sampleRate: sampleRate(44100) };

describe('a new song', () => {
  test('has one open section to record the riff in, and a beat of 96 in 4/4 with the click on at −12 dB', () => {
    expect(newSong({ ...parts, title: ' Last ferry ' })).toEqual({
      schema: 1,
      id: 's',
      title: 'Last ferry',
      sampleRate: 44100,
      tempo: { bpm: 96, mark: { num: 1, den: 4 } },
      metre: { num: 4, den: 4, groups: [1, 1, 1, 1] },
      countIn: null,
      click: { on: true, gain: -12 },
      sections: [{ id: 'a', mark: 'A', name: 'Riff', bars: null, stretches: [], layers: [], recede: 0 }],
      ideas: [],
    });
  });

  test('has nothing wrong with it', () => {
    expect(songFault(newSong({ ...parts, title: 'Last ferry' }))).toBeNull();
  });

  test.each(['', '  ', 'n'.repeat(201)])('throws for a title that cannot be: %j', (title) => {
    expect(() => newSong({ ...parts, title })).toThrow(SongError);
  });
});
