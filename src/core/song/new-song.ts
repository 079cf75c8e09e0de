/** The song that a player starts with: one open section, a beat to play over, nothing recorded. */
import type { SampleRate } from '../units/index.js';
import { bpm, decibels } from '../units/index.js';
import type { SectionId, SongId } from './ids.js';
import { trimmedName } from './limits.js';
import { SONG_SCHEMA, type Song } from './song.js';
import { SongError } from './song-error.js';

export interface NewSong {
  readonly id: SongId;
  readonly sectionId: SectionId;
  /** 1 to 200 characters after trimming. */
  readonly title: string;
  readonly sampleRate: SampleRate;
}

/**
 * A song of one section, A, of open length: 96 quarters a minute, 4/4, the click on at −12 dB.
 * @throws {SongError} for a title that is empty or too long.
 */
export function newSong({ id, sectionId, title, sampleRate }: NewSong): Song {
  const name = trimmedName(title);
  if (!name.ok) throw new SongError(`Got a title of ${title.length} characters when expected 1 to 200.`);
  return {
    schema: SONG_SCHEMA,
    id,
    title: name.value,
    sampleRate,
    tempo: { bpm: bpm(96), mark: { num: 1, den: 4 } },
    metre: { num: 4, den: 4, groups: [1, 1, 1, 1] },
    countIn: null,
    click: { on: true, gain: decibels(-12) },
    sections: [{ id: sectionId, mark: 'A', name: 'Riff', bars: null, stretches: [], layers: [], recede: decibels(0) }],
    ideas: [],
  };
}
