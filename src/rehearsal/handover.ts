/**
 * From one program to the next while something plays. A take that the engine has not loaded would leave a hole where it
 * comes in: so first the old layers play on, with the new takes silent beside them, until the engine has what it needs;
 * then the new song follows.
 */
import type { LayerId, RecordingId, SectionId } from '../core/song/ids.js';
import { asId } from '../core/song/ids.js';
import { levelOf } from '../core/song/levels.js';
import { sectionOf, takeInUse } from '../core/song/lookups.js';
import { movesOf } from '../core/song/moves.js';
import type { Layer, Section, Song } from '../core/song/song.js';
import { decibels } from '../core/units/index.js';

export class Handover {
  readonly #isLocal: (recording: RecordingId) => boolean;
  #playing: Song | null = null;
  /** Takes that the engine has, or was told to play. */
  #here: ReadonlySet<string> = new Set();
  #coming: { readonly revision: number; readonly takes: ReadonlySet<string> } | null = null;

  /** @param isLocal whether the engine made a recording itself. */
  constructor(isLocal: (recording: RecordingId) => boolean) {
    this.#isLocal = isLocal;
  }

  /** The song to compile now: the one that is meant, or what leads to it. */
  next(song: Song, section: SectionId, isRunning: boolean, revision: number): Song {
    const after = sectionOf(song, section);
    const coming = after.layers.filter((layer) => !this.#isHere(layer));
    const before = this.#playing === null || !isRunning ? undefined : sectionIn(this.#playing, section);
    if (before === undefined || coming.length === 0) {
      this.#playing = song;
      this.#here = new Set(after.layers.map(keyOf));
      this.#coming = null;
      return song;
    }
    this.#coming = { revision, takes: new Set(coming.map(keyOf)) };
    return withSection(song, section, { ...after, layers: between(before, after, coming), recede: decibels(0) });
  }

  /** The engine has all of a program. @returns whether that was only what leads to the next. */
  isReady(revision: number): boolean {
    if (this.#coming?.revision !== revision) return false;
    this.#here = new Set([...this.#here, ...this.#coming.takes]);
    return true;
  }

  #isHere(layer: Layer): boolean {
    return this.#isLocal(takeInUse(layer).recording) || this.#here.has(keyOf(layer));
  }
}

/** The new layers that are here, the old ones of those that are not, and what is coming, silent. */
function between(before: Section, after: Section, coming: readonly Layer[]): readonly Layer[] {
  const staying = after.layers.flatMap((layer, index) => {
    if (!coming.includes(layer)) return [levelled(after, index)];
    const old = before.layers.findIndex(({ id }) => id === layer.id);
    return old < 0 ? [] : [levelled(before, old)];
  });
  const gone = before.layers.flatMap(({ id }, index) =>
    after.layers.some((layer) => layer.id === id) ? [] : [levelled(before, index)],
  );
  const silent = coming.map((layer) => ({ ...layer, id: asId<LayerId>(`coming ${keyOf(layer)}`), leftOut: true }));
  return [...staying, ...gone, ...silent];
}

/** A layer with all that lowers it in its section as its own gain. */
function levelled(section: Section, index: number): Layer {
  const layer = section.layers[index];
  if (layer === undefined) throw new RangeError(`Got layer ${index} when expected one of ${section.layers.length}.`);
  return layer.leftOut ? layer : { ...layer, gain: levelOf(section, index) };
}

const keyOf = (layer: Layer): string => {
  const take = takeInUse(layer);
  const moves = movesOf(take).slice(1);
  return [take.id, take.bodyStart, ...moves.flatMap(({ fromBar, shift }) => [fromBar, shift])].join(' ');
};

const sectionIn = (song: Song, id: SectionId): Section | undefined => song.sections.find((each) => each.id === id);

const withSection = (song: Song, id: SectionId, section: Section): Song => ({
  ...song,
  sections: song.sections.map((each) => (each.id === id ? section : each)),
});
