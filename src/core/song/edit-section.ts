/** The edits inside one section. Each gives the same song back where nothing changes. */
import type { Result } from '../result/result.js';
import { failure, success } from '../result/result.js';
import type { Bars, Decibels } from '../units/index.js';
import type { EditRefusal } from './edits.js';
import type { LayerId, SectionId } from './ids.js';
import { newLayerFault } from './invariants.js';
import { gainRefusal, sectionBarsRefusal, trimmedName } from './limits.js';
import { holdsTheGrid } from './queries.js';
import type { Layer, Section, Song } from './song.js';
import { SongError } from './song-error.js';

type Edited<Part> = Result<Part, EditRefusal>;

/** Sets a section's length, or opens it (null), while nothing was played over any section. */
export function setSectionBars(song: Song, section: SectionId, bars: Bars | null): Edited<Song> {
  return inSection(song, section, (old) => {
    const refusal = sectionBarsRefusal(bars);
    if (refusal !== null) return failure(refusal);
    if (bars === old.bars) return success(old);
    return holdsTheGrid(song) ? failure('layers-hold-the-grid') : success({ ...old, bars });
  });
}

/**
 * Adds a layer behind the others; an open section takes `sectionBars` as its length, one with a length keeps it.
 * @throws {SongError} for a layer that cannot be (see invariants.ts).
 */
export function addLayer(song: Song, section: SectionId, layer: Layer, sectionBars: Bars): Edited<Song> {
  return inSection(song, section, (old) => {
    const bars = old.bars ?? sectionBars;
    const name = trimmedName(layer.name);
    if (!name.ok) return name;
    const refusal = gainRefusal(layer.gain) ?? sectionBarsRefusal(bars);
    if (refusal !== null) return failure(refusal);
    const added = name.value === layer.name ? layer : { ...layer, name: name.value };
    const fault = newLayerFault(song, added);
    if (fault !== null) throw new SongError(fault);
    return success({ ...old, bars, layers: [...old.layers, added] });
  });
}

/** Names a layer. */
export function renameLayer(song: Song, section: SectionId, layer: LayerId, name: string): Edited<Song> {
  return inLayer(song, section, layer, (old) => {
    const trimmed = trimmedName(name);
    if (!trimmed.ok) return trimmed;
    return success(trimmed.value === old.name ? old : { ...old, name: trimmed.value });
  });
}

/** Silences a layer, or brings it back. */
export function leaveOut(song: Song, section: SectionId, layer: LayerId, out: boolean): Edited<Song> {
  return inLayer(song, section, layer, (old) => success(out === old.leftOut ? old : { ...old, leftOut: out }));
}

/** Sets a layer's gain. */
export function setLayerGain(song: Song, section: SectionId, layer: LayerId, gain: Decibels): Edited<Song> {
  return inLayer(song, section, layer, (old) => {
    const refusal = gainRefusal(gain);
    if (refusal !== null) return failure(refusal);
    return success(gain === old.gain ? old : { ...old, gain });
  });
}

function inSection(song: Song, id: SectionId, change: (section: Section) => Edited<Section>): Edited<Song> {
  const old = song.sections.find((section) => section.id === id);
  if (old === undefined) return failure('no-such-section');
  const changed = change(old);
  if (!changed.ok) return changed;
  if (changed.value === old) return success(song);
  return success({ ...song, sections: replaced(song.sections, old, changed.value) });
}

function inLayer(song: Song, section: SectionId, id: LayerId, change: (layer: Layer) => Edited<Layer>): Edited<Song> {
  return inSection(song, section, (held) => {
    const old = held.layers.find((layer) => layer.id === id);
    if (old === undefined) return failure('no-such-layer');
    const changed = change(old);
    if (!changed.ok) return changed;
    return success(changed.value === old ? held : { ...held, layers: replaced(held.layers, old, changed.value) });
  });
}

function replaced<Thing>(things: readonly Thing[], old: Thing, fresh: Thing): readonly Thing[] {
  return things.map((thing) => (thing === old ? fresh : thing));
}
