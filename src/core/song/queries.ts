/** Questions to a song that more than one place asks. */
import type { Layer, Song } from './song.js';

/** Whether something was played over the bars, so that tempo, metre and length can no longer change under it. */
export function holdsTheGrid(song: Song): boolean {
  return song.sections.some((section) => section.layers.length > 0);
}

/** The layers of all sections, and those that were blended into them. */
export const everyLayer = (song: Song): readonly Layer[] =>
  song.sections.flatMap((section) => section.layers).flatMap(withBlended);

/** A layer and those that were blended into it, down to the played ones. */
export const withBlended = (layer: Layer): readonly Layer[] => [layer, ...layer.blendOf.flatMap(withBlended)];
