/** Several layers as one, and back. The layers of a blend are kept in it as they were: nothing is lost. */
import { failure, success } from '../result/result.js';
import { type Edited, inSection, joining } from './edit-section.js';
import type { LayerId, SectionId } from './ids.js';
import { blendRefusal } from './limits.js';
import { takeInUse } from './lookups.js';
import type { Layer, Song } from './song.js';

/** Puts a blend in the place of the first of its layers; they go into it in the order they had. */
export function blend(song: Song, section: SectionId, ids: readonly LayerId[], into: Layer): Edited<Song> {
  return inSection(song, section, (old) => {
    if (new Set(ids).size < 2) return failure('too-few-to-blend');
    const blendOf = old.layers.filter(({ id }) => ids.includes(id));
    if (blendOf.length < new Set(ids).size) return failure('no-such-layer');
    const ready = joining(into);
    if (!ready.ok) return ready;
    const refusal = blendRefusal(takeInUse(into).bars);
    if (refusal !== null) return failure(refusal);
    const blended = { ...ready.value, blendOf };
    const layers = old.layers.flatMap((layer) => {
      if (layer === blendOf[0]) return [blended];
      return blendOf.includes(layer) ? [] : [layer];
    });
    return success({ ...old, layers });
  });
}

/** Puts the layers of a blend back where it is, in the order they had. */
export function takeApart(song: Song, section: SectionId, id: LayerId): Edited<Song> {
  return inSection(song, section, (old) => {
    const blended = old.layers.find((layer) => layer.id === id);
    if (blended === undefined) return failure('no-such-layer');
    if (blended.blendOf.length === 0) return failure('not-a-blend');
    return success({ ...old, layers: old.layers.flatMap((layer) => (layer === blended ? layer.blendOf : [layer])) });
  });
}
