/** Finding the parts of a song by their ids. What is not there is a programmer's mistake. */
import type { SectionId } from './ids.js';
import type { Layer, Section, Song, Take } from './song.js';
import { SongError } from './song-error.js';

/** @throws {SongError} if the song has no such section. */
export function sectionOf(song: Song, id: SectionId): Section {
  const section = song.sections.find((each) => each.id === id);
  if (section === undefined)
    throw new SongError(`Got section ${id} when expected one of ${String(song.sections.length)} sections.`);
  return section;
}

/** @throws {SongError} if the layer names a take that it does not have. */
export function takeInUse(layer: Layer): Take {
  const take = layer.takes.find((each) => each.id === layer.takeInUse);
  if (take === undefined)
    throw new SongError(`Got take ${layer.takeInUse} in use when expected one of the layer's own.`);
  return take;
}
