/**
 * What holds of every song: the types say the form, this says the rest. A fault is told in a programmer's words; it is
 * either a mistake in the program or a stored document that was damaged.
 */
import type { EditRefusal } from './edits.js';
import { countInRefusal, gainRefusal, metreRefusal, sectionBarsRefusal, tempoRefusal, trimmedName } from './limits.js';
import type { Layer, Section, Song, Take } from './song.js';

/** What is wrong with a song, or null: limits, identities that occur twice, sections and layers that don't hold. */
export function songFault(song: Song): string | null {
  const layers = song.sections.flatMap((section) => section.layers);
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
    firstFault(song.sections, sectionFault)
  );
}

/**
 * What keeps a layer from joining a song, or null: takes that cannot be, or an identity that the song has already. Its
 * name and its gain are the player's, and refused in an edit's own words.
 */
export function newLayerFault(song: Song, layer: Layer): string | null {
  const layers = [...song.sections.flatMap((section) => section.layers), layer];
  const takes = layers.flatMap((each) => each.takes);
  return takesFault(layer) ?? repeated(layers, 'layer') ?? repeated(takes, 'take');
}

function sectionFault(section: Section): string | null {
  const open = section.bars === null && section.layers.length > 0;
  return (
    (section.mark === '' ? 'Got an empty rehearsal mark when expected a letter.' : null) ??
    nameFault(section.name, 'name of a section') ??
    refused(sectionBarsRefusal(section.bars)) ??
    (open ? 'Got layers over a section of open length when expected its length.' : null) ??
    firstFault(section.layers, layerFault)
  );
}

function layerFault(layer: Layer): string | null {
  return nameFault(layer.name, 'name of a layer') ?? refused(gainRefusal(layer.gain)) ?? takesFault(layer);
}

function takesFault({ takes, takeInUse }: Layer): string | null {
  if (takes.length === 0) return 'Got a layer without takes when expected at least one.';
  if (!takes.some((take) => take.id === takeInUse)) {
    return `Got ${takeInUse} as the take in use when expected one of the layer's takes.`;
  }
  return repeated(takes, 'take') ?? firstFault(takes, takeFault);
}

function takeFault(take: Take): string | null {
  return (
    atLeast(take.channel, 0, 'channel') ??
    atLeast(take.bodyFrames, 1, 'frames of body') ??
    atLeast(take.lead, 0, 'frames of lead') ??
    atLeast(take.tail, 0, 'frames of tail') ??
    atLeast(take.startBar, 0, 'start bar') ??
    atLeast(take.bars, 1, 'bars of a take') ??
    alignmentFault(take)
  );
}

function alignmentFault(take: Take): string | null {
  const from = take.alignment.map((alignment) => alignment.fromBar);
  const first = from[0];
  if (first !== 0) return `Got an alignment from bar ${first ?? 'none'} when expected the first from bar 0.`;
  const ordered = from.every((bar, index) => index === 0 || bar > (from[index - 1] ?? Infinity));
  return ordered ? null : `Got alignments from bars ${from.join(', ')} when expected rising bars.`;
}

function nameFault(name: string, what: string): string | null {
  const trimmed = trimmedName(name);
  if (trimmed.ok && trimmed.value === name) return null;
  return `Got a ${what} of ${name.length} characters when expected 1 to 200 without white space at its ends.`;
}

function refused(refusal: EditRefusal | null): string | null {
  return refusal === null ? null : `Got a song with ${refusal} when expected one within its limits.`;
}

function atLeast(value: number, least: number, what: string): string | null {
  return Number.isSafeInteger(value) && value >= least
    ? null
    : `Got ${value} as ${what} when expected a whole number from ${least}.`;
}

function repeated(things: readonly { readonly id: string }[], what: string): string | null {
  const ids = new Set(things.map((thing) => thing.id));
  return ids.size === things.length ? null : `Got a ${what} twice when expected each identity once.`;
}

function firstFault<Thing>(things: readonly Thing[], fault: (thing: Thing) => string | null): string | null {
  for (const thing of things) {
    const found = fault(thing);
    if (found !== null) return found;
  }
  return null;
}
