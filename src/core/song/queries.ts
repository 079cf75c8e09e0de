/** Questions to a song that more than one place asks. */
import type { Song } from './song.js';

/** Whether something was played over the bars, so that tempo, metre and length can no longer change under it. */
export function holdsTheGrid(song: Song): boolean {
  return song.sections.some((section) => section.layers.length > 0);
}
