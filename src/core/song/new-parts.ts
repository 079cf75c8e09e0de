/**
 * What an edit brings into a song: layers, takes, ideas, a seam, an alignment, a reading. Names and gains are the player's, and
 * refused in an edit's own words; what is found here is a mistake of the program, or a journal that was damaged.
 */
import { readingFault } from './edit-reading.js';
import type { Edit } from './edits.js';
import { alignmentFault, firstFault, ideaFault, repeated, seamFault, takeFault, takesFault } from './faults.js';
import { everyLayer } from './queries.js';
import type { Layer, Song } from './song.js';

/** What keeps an edit's parts from joining a song, or null: parts that cannot be, or identities that the song has. */
export function newPartsFault(song: Song, edit: Edit): string | null {
  switch (edit.type) {
    case 'add-layers':
      if (edit.layers.length === 0) return 'Got no layer when expected at least one.';
      return newLayersFault(song, edit.layers);
    case 'blend':
      return newLayersFault(song, [edit.into]);
    case 'add-take': {
      const takes = everyLayer(song).flatMap((layer) => layer.takes);
      return takeFault(edit.take) ?? repeated([...takes, edit.take], 'take');
    }
    case 'set-seam': {
      const takes = everyLayer(song).flatMap((layer) => layer.takes);
      const take = takes.find(({ id }) => id === edit.take);
      return take === undefined ? null : seamFault(take, edit.seam);
    }
    case 'realign':
      return alignmentFault(edit.alignment);
    case 'read-as':
      return readingFault(song, edit);
    case 'add-idea':
      return ideaFault(edit.idea) ?? repeated([...song.ideas, edit.idea], 'idea');
    default:
      return null;
  }
}

function newLayersFault(song: Song, fresh: readonly Layer[]): string | null {
  const layers = [...everyLayer(song), ...fresh];
  return (
    (fresh.every((layer) => layer.blendOf.length === 0)
      ? null
      : 'Got a new layer with others in it when expected none.') ??
    firstFault(fresh, takesFault) ??
    repeated(layers, 'layer') ??
    repeated(
      layers.flatMap((layer) => layer.takes),
      'take',
    )
  );
}
