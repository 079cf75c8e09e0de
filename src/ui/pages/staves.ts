/** The staves of a snapshot: a layer each, and last the part in hand. */
import type { Section, Layer } from '../../core/song/song.js';
import { takeInUse } from '../../core/song/lookups.js';
import type { Snapshot } from '../../rehearsal/snapshot.js';
import { marksOf } from '../../rehearsal/realigning.js';
import type { Stave } from '../elements/stave.js';
import type { MarksInSection } from '../elements/trip-marks.js';
import { LABELS } from '../words.js';

/** Phrases are written out in fours while nobody has said how long the section is. */
const OPEN_LINE = 4;

export function stavesOf({ layers, transport, passInk }: Snapshot, section: Section): readonly Stave[] {
  const staves = section.layers.map((layer): Stave => {
    const view = layers.find((each) => each.section === section.id && each.layer === layer.id);
    const { id, name, gain, leftOut } = layer;
    return { layer: id, name, gain, leftOut, ink: view?.ink ?? null, unsure: isUnsure(layer), live: false };
  });
  const live = transport.state !== 'stopped' && transport.state !== 'playing';
  if (!live && staves.length > 0) return staves;
  const name = transport.layerName ?? (staves.length === 0 ? LABELS.firstLayer : LABELS.nextLayer);
  return [...staves, { layer: null, name, gain: 0, leftOut: false, ink: passInk, unsure: false, live }];
}

/** What is marked over the layers' bars; null where nothing is. */
export function marksIn({ song, trip }: Snapshot, { layers, bars }: Section): MarksInSection | null {
  const marks = layers.flatMap((layer) => marksOf(layer, bars).map((drawn) => ({ ...drawn, layer: layer.id })));
  return marks.length === 0 ? null : { marks, rate: song.sampleRate, way: trip?.how === 'measured' ? 'air' : 'cable' };
}

/** The length that is decided: the section's, or that of a first pass whose end is known. Null while it is open. */
function decidedBars({ transport }: Snapshot, section: Section): number | null {
  const counting = transport.state === 'stopped' || transport.state === 'counting-in';
  return section.bars ?? (counting ? null : transport.bars);
}

/** Whether a pass is being written down at this moment. */
export const isFilling = ({ transport }: Snapshot): boolean =>
  transport.state === 'recording' || transport.state === 'layering';

export const isClosed = (snapshot: Snapshot, section: Section): boolean => decidedBars(snapshot, section) !== null;

/** Bars to draw: those that are decided, or while the length is open as many lines of four as the pass has reached. */
export function barsToDraw(snapshot: Snapshot, section: Section): number {
  const { transport, passInk } = snapshot;
  const reached = isFilling(snapshot) ? Math.max(transport.bar ?? 1, passInk?.bars ?? 1) : 1;
  return decidedBars(snapshot, section) ?? Math.ceil(reached / OPEN_LINE) * OPEN_LINE;
}

function isUnsure(layer: Layer): boolean {
  return takeInUse(layer).alignment.some((alignment) => !alignment.sure);
}
