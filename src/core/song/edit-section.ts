/** The edits inside one section. Each gives the same song back where nothing changes. */
import type { Result } from '../result/result.js';
import { failure, success } from '../result/result.js';
import type { Bars, Decibels } from '../units/index.js';
import type { EditRefusal } from './edits.js';
import type { LayerId, SectionId } from './ids.js';
import { gainRefusal, recedeRefusal, sectionBarsRefusal, trimmedName } from './limits.js';
import { holdsTheGrid } from './queries.js';
import { equalData } from './equal-data.js';
import type { SectionStretch } from './section-stretch.js';
import { stretchesRefusal } from './section-time.js';
import { onlySettles } from './settling.js';
import type { Layer, Section, Song } from './song.js';

export type Edited<Part> = Result<Part, EditRefusal>;

/** Sets a section's length, or opens it (null), while nothing was played over any section. */
export function setSectionBars(song: Song, section: SectionId, bars: Bars | null): Edited<Song> {
  return inSection(song, section, (old) => {
    const refusal = sectionBarsRefusal(bars);
    if (refusal !== null) return failure(refusal);
    if (bars === old.bars) return success(old);
    if (holdsTheGrid(song)) return failure('layers-hold-the-grid');
    const changed = { ...old, bars };
    const misfit = stretchesRefusal(song, changed);
    return misfit === null ? success(changed) : failure(misfit);
  });
}

/** Sets what changes at a section's bar lines: while nothing was played over it, or where only open lengths become known. */
export function setStretches(song: Song, section: SectionId, stretches: readonly SectionStretch[]): Edited<Song> {
  return inSection(song, section, (old) => {
    const changed = { ...old, stretches };
    const refusal = stretchesRefusal(song, changed);
    if (refusal !== null) return failure(refusal);
    if (equalData(stretches, old.stretches)) return success(old);
    const isHeld = old.layers.length > 0 && !onlySettles(old.stretches, stretches);
    return isHeld ? failure('layers-hold-the-grid') : success(changed);
  });
}

/** Adds layers behind the others; an open section takes `sectionBars` as its length, one with a length keeps it. */
export function addLayers(song: Song, section: SectionId, layers: readonly Layer[], sectionBars: Bars): Edited<Song> {
  return inSection(song, section, (old) => {
    const bars = old.bars ?? sectionBars;
    const refusal = sectionBarsRefusal(bars);
    if (refusal !== null) return failure(refusal);
    const added: Layer[] = [];
    for (const layer of layers) {
      const ready = joining(layer);
      if (!ready.ok) return ready;
      added.push(ready.value);
    }
    return success({ ...old, bars, layers: [...old.layers, ...added] });
  });
}

/** A layer as it joins a song: with a name and a gain that are within their limits. */
export function joining(layer: Layer): Edited<Layer> {
  const name = trimmedName(layer.name);
  if (!name.ok) return name;
  const refusal = gainRefusal(layer.gain);
  if (refusal !== null) return failure(refusal);
  return success(name.value === layer.name ? layer : { ...layer, name: name.value });
}

/** Sets what each layer but the first loses for every layer after it. */
export function setRecede(song: Song, section: SectionId, recede: Decibels): Edited<Song> {
  return inSection(song, section, (old) => {
    const refusal = recedeRefusal(recede);
    if (refusal !== null) return failure(refusal);
    return success(recede === old.recede ? old : { ...old, recede });
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

/** The song with one section changed; the very same song where `change` gives the section back. */
export function inSection(song: Song, id: SectionId, change: (section: Section) => Edited<Section>): Edited<Song> {
  const old = song.sections.find((section) => section.id === id);
  if (old === undefined) return failure('no-such-section');
  const changed = change(old);
  if (!changed.ok) return changed;
  if (changed.value === old) return success(song);
  return success({ ...song, sections: replaced(song.sections, old, changed.value) });
}

/** The same for one layer of a section. */
export function inLayer(
  song: Song,
  section: SectionId,
  id: LayerId,
  change: (layer: Layer) => Edited<Layer>,
): Edited<Song> {
  return inSection(song, section, (held) => {
    const old = held.layers.find((layer) => layer.id === id);
    if (old === undefined) return failure('no-such-layer');
    const changed = change(old);
    if (!changed.ok) return changed;
    return success(changed.value === old ? held : { ...held, layers: replaced(held.layers, old, changed.value) });
  });
}

/** The list with one thing in the place of another. */
export function replaced<Thing>(things: readonly Thing[], old: Thing, fresh: Thing): readonly Thing[] {
  return things.map((thing) => (thing === old ? fresh : thing));
}
