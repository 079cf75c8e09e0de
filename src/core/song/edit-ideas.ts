/** Ideas come and go; their recordings stay as long as anything names them. */
import { failure, success } from '../result/result.js';
import type { Edited } from './edit-section.js';
import type { IdeaId } from './ids.js';
import type { Idea, Song } from './song.js';

export const addIdea = (song: Song, idea: Idea): Song => ({ ...song, ideas: [...song.ideas, idea] });

export function dropIdea(song: Song, id: IdeaId): Edited<Song> {
  const ideas = song.ideas.filter((idea) => idea.id !== id);
  return ideas.length === song.ideas.length ? failure('no-such-idea') : success({ ...song, ideas });
}
