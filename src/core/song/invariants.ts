/**
 * What holds of every song: the types say the form, this says the rest. A fault is told in a programmer's words; it is
 * either a mistake in the program or a stored document that was damaged.
 */
import type { EditRefusal } from './edits.js';
import { firstFault, ideaFault, repeated, takesFault } from './faults.js';
import {
  countInRefusal,
  gainRefusal,
  metreRefusal,
  recedeRefusal,
  sectionBarsRefusal,
  tempoRefusal,
  trimmedName,
} from './limits.js';
import { everyLayer, withBlended } from './queries.js';
import { songStretchesRefusal } from './section-time.js';
import type { Layer, Section, Song } from './song.js';

/** What is wrong with a song, or null: limits, identities that occur twice, sections and layers that don't hold. */
export function songFault(song: Song): string | null {
  const layers = everyLayer(song);
  const takes = layers.flatMap((layer) => layer.takes);
  return (
    nameFault(song.title, 'title') ??
    refused(tempoRefusal(song.tempo.bpm)) ??
    refused(metreRefusal(song.metre, song.tempo.mark)) ??
    refused(countInRefusal(song.countIn)) ??
    refused(gainRefusal(song.click.gain)) ??
    (song.sections.length > 0 ? null : 'Got no section when expected at least one.') ??
    repeated(song.sections, 'section') ??
    repeated(layers, 'layer') ??
    repeated(takes, 'take') ??
    repeated(song.ideas, 'idea') ??
    firstFault(song.sections, sectionFault) ??
    refused(songStretchesRefusal(song)) ??
    firstFault(song.ideas, ideaFault)
  );
}

function sectionFault(section: Section): string | null {
  const open = section.bars === null && section.layers.length > 0;
  return (
    (section.mark === '' ? 'Got an empty rehearsal mark when expected a letter.' : null) ??
    nameFault(section.name, 'name of a section') ??
    refused(sectionBarsRefusal(section.bars)) ??
    refused(recedeRefusal(section.recede)) ??
    (open ? 'Got layers over a section of open length when expected its length.' : null) ??
    firstFault(section.layers.flatMap(withBlended), layerFault)
  );
}

function layerFault(layer: Layer): string | null {
  return nameFault(layer.name, 'name of a layer') ?? refused(gainRefusal(layer.gain)) ?? takesFault(layer);
}

function nameFault(name: string, what: string): string | null {
  const trimmed = trimmedName(name);
  if (trimmed.ok && trimmed.value === name) return null;
  return `Got a ${what} of ${name.length} characters when expected 1 to 200 without white space at its ends.`;
}

function refused(refusal: EditRefusal | null): string | null {
  return refusal === null ? null : `Got a song with ${refusal} when expected one within its limits.`;
}
