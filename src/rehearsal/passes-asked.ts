/** What the player asked of the next passes: whether they follow each other, and whether they are takes of a layer. */
import type { PressRules } from '../core/meter/presses.js';
import { PRESS_RULES } from '../core/meter/presses.js';
import type { LayerId, SectionId } from '../core/song/ids.js';
import { sectionBarsRefusal } from '../core/song/limits.js';
import type { Layer, Song } from '../core/song/song.js';
import type { Bars } from '../core/units/index.js';
import type { SettingRefusal } from './snapshot.js';

/** A layer that passes become another take of. */
export interface LayerPlace {
  readonly section: SectionId;
  readonly layer: LayerId;
}

export class PassesAsked {
  /** Every pass is followed by another, until the player says no. */
  keepLayering = false;
  /** Length of a pass; null: the section's. */
  bars: Bars | null = null;
  presses: PressRules = PRESS_RULES;
  anotherTake: LayerPlace | null = null;

  /** The layer that the next pass is another take of; null where it becomes a new layer, or the song has it no more. */
  retaken(song: Song, inHand: SectionId): Layer | null {
    const asked = this.anotherTake;
    if (asked?.section !== inHand) return null;
    return layerAt(song, asked);
  }
}

/** The refusal of a pass's length; null, the section's, is allowed. A pass can be as long as a section. */
export const passBarsRefusal = (length: Bars | null): SettingRefusal | null =>
  sectionBarsRefusal(length) === null ? null : 'pass-bars-out-of-range';

export function layerAt(song: Song, { section, layer }: LayerPlace): Layer | null {
  const held = song.sections.find(({ id }) => id === section);
  return held?.layers.find(({ id }) => id === layer) ?? null;
}
