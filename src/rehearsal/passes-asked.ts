/** What the player asked of the next passes: whether they follow each other, and whether they are takes of a layer. */
import type { LayerId, SectionId } from '../core/song/ids.js';
import type { Layer, Song } from '../core/song/song.js';

/** A layer that passes become another take of. */
export interface LayerPlace {
  readonly section: SectionId;
  readonly layer: LayerId;
}

export class PassesAsked {
  /** Every pass is followed by another, until the player says no. */
  keepLayering = false;
  anotherTake: LayerPlace | null = null;

  /** The layer that the next pass is another take of; null where it becomes a new layer, or the song has it no more. */
  retaken(song: Song, inHand: SectionId): Layer | null {
    const asked = this.anotherTake;
    if (asked?.section !== inHand) return null;
    return layerAt(song, asked);
  }
}

export function layerAt(song: Song, { section, layer }: LayerPlace): Layer | null {
  const held = song.sections.find(({ id }) => id === section);
  return held?.layers.find(({ id }) => id === layer) ?? null;
}
