/**
 * Ink of the layers: read once from storage; until then, what was drawn of the live pass where there was one.
 */
import { inkFromAudio } from '../core/chart/ink-from-audio.js';
import type { Ink } from '../core/chart/ink.js';
import type { TakeId } from '../core/song/ids.js';
import { takeInUse } from '../core/song/lookups.js';
import { movesOf } from '../core/song/moves.js';
import type { Layer, Song, Take } from '../core/song/song.js';
import type { Library } from '../ports/library.js';
import type { Keeping } from './keeping.js';
import type { LayerView } from './snapshot.js';
import { readTake, runsInSong } from './take-audio.js';

export class Inks {
  readonly #library: Library;
  readonly #keeping: Keeping;
  readonly #changed: () => void;
  readonly #missing: (layer: Layer) => void;
  readonly #drawn = new Map<TakeId, Ink>();
  /** What was read last of a take, or is being read. */
  readonly #asked = new Map<TakeId, string>();

  /** @param missing is told of a layer of whose audio something is not there. */
  constructor(library: Library, keeping: Keeping, changed: () => void, missing: (layer: Layer) => void) {
    this.#library = library;
    this.#keeping = keeping;
    this.#changed = changed;
    this.#missing = missing;
  }

  /** What there is until the take has been read. */
  set(take: TakeId, ink: Ink, startBar: number): void {
    this.#drawn.set(take, turned(ink, startBar));
  }

  /** What there is to draw. Layers without ink are read, one after another. */
  views(song: Song): readonly LayerView[] {
    return song.sections.flatMap((section) =>
      section.layers.map((layer) => ({ section: section.id, layer: layer.id, ink: this.#inkOf(layer, song) })),
    );
  }

  #inkOf(layer: Layer, song: Song): Ink | null {
    const take = takeInUse(layer);
    const pieces = piecesOf(take);
    if (this.#asked.get(take.id) !== pieces) {
      this.#asked.set(take.id, pieces);
      void this.#read(layer, song);
    }
    return this.#drawn.get(take.id) ?? null;
  }

  async #read(layer: Layer, song: Song): Promise<void> {
    const take = takeInUse(layer);
    await this.#keeping.keptSoFar();
    const read = await readTake(this.#library, take, runsInSong(song, take), 0);
    if (this.#asked.get(take.id) !== piecesOf(take)) return;
    if (!read.ok || read.value.missing > 0) this.#missing(layer);
    const samples = read.ok ? read.value.samples : new Float32Array(0);
    const ink = inkFromAudio(samples, { bars: take.bars, sampleRate: song.sampleRate });
    this.#drawn.set(take.id, turned(ink, take.startBar));
    this.#changed();
  }
}

/** A take is drawn anew where something turns out to have moved it under the pass. */
const piecesOf = (take: Take): string => JSON.stringify(movesOf(take));

/** A take that was begun at bar 2 of its four is drawn from there on, and round: where it sounds. */
function turned(ink: Ink, startBar: number): Ink {
  const by = (startBar % ink.bars) / ink.bars;
  if (by === 0) return ink;
  const strokes = ink.strokes.map((stroke) => ({ ...stroke, at: (stroke.at + by) % 1 }));
  return { ...ink, strokes: strokes.sort((a, b) => a.at - b.at) };
}
