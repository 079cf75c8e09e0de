/**
 * A loop that was played without a tempo, read as so many bars at a tempo. The layers of the loop are all that was played
 * so far, so tempo and length may still change under them; where the body begins in the recording stays as it is.
 */
import { barFrames } from '../meter/grid.js';
import { failure, success } from '../result/result.js';
import { bars, frames } from '../units/index.js';
import type { Bars, Frames } from '../units/index.js';
import { type Edited, inSection } from './edit-section.js';
import type { LoopReading } from './edits.js';
import { seamFault } from './faults.js';
import { sectionBarsRefusal, tempoRefusal } from './limits.js';
import type { Alignment, Layer, Song, Take } from './song.js';

/** Reads the only loop of a song as other bars, all alike: tempo, length of the section, and length of its takes. */
export function readAs(song: Song, { section, bpm, bars, bodyFrames }: LoopReading): Edited<Song> {
  const refusal = tempoRefusal(bpm) ?? sectionBarsRefusal(bars);
  if (refusal !== null) return failure(refusal);
  if (song.sections.some(({ id, layers }) => id !== section && layers.length > 0))
    return failure('layers-hold-the-grid');
  const read = inSection(song, section, (old) => {
    const loop = old.layers[0]?.takes[0];
    if (loop === undefined) return failure('no-such-layer');
    if (!old.layers.every((layer) => isOfLoop(layer, loop))) return failure('layers-hold-the-grid');
    const same =
      old.bars === bars && loop.bars === bars && loop.bodyFrames === bodyFrames && old.stretches.length === 0;
    if (same) return success(old);
    return success({ ...old, bars, stretches: [], layers: old.layers.map((layer) => reread(layer, bars, bodyFrames)) });
  });
  if (!read.ok || bpm === song.tempo.bpm) return read;
  return success({ ...read.value, tempo: { ...song.tempo, bpm } });
}

/** What is wrong with a reading whose tempo is within its limits: a body that is not whole bars of that tempo. */
export function readingFault(song: Song, { bpm, bars, bodyFrames }: LoopReading): string | null {
  if (tempoRefusal(bpm) !== null) return null;
  const whole = bars * barFrames(song.metre, { ...song.tempo, bpm }, song.sampleRate);
  return bodyFrames === whole
    ? null
    : `Got a loop of ${bodyFrames} frames when expected ${bars} bars of ${whole} in all.`;
}

/** Whether a layer is one channel of the loop, and nothing was recorded over it. */
function isOfLoop({ takes, blendOf }: Layer, loop: Take): boolean {
  const take = takes[0];
  return (
    take !== undefined &&
    takes.length === 1 &&
    blendOf.length === 0 &&
    take.startBar === 0 &&
    take.recording === loop.recording &&
    take.bodyStart === loop.bodyStart &&
    take.bodyFrames === loop.bodyFrames
  );
}

/**
 * What the body gains it takes from the tail. A seam that then reaches too far is listened for anew. Where the audio jumps
 * it does so at the line that is nearest by now.
 */
function reread(layer: Layer, bars: Bars, bodyFrames: Frames): Layer {
  const takes = layer.takes.map((take) => {
    const tail = frames(Math.max(0, take.tail + take.bodyFrames - bodyFrames));
    const fresh = { ...take, bars, bodyFrames, tail, alignment: overBars(take, bars) };
    const { decided } = take.seam;
    const holds = decided !== null && seamFault(fresh, decided) === null;
    return holds ? fresh : { ...fresh, seam: { ...take.seam, decided: null } };
  });
  return { ...layer, takes };
}

/**
 * A take's alignment, its body read as so many bars. The first entry placed the body, and stays; what falls on its
 * line, on that of a later entry, or on the end, is lost.
 */
function overBars({ alignment, bars: before }: Take, length: Bars): readonly Alignment[] {
  if (alignment.length < 2) return alignment;
  const moved = alignment.map((each) => ({ ...each, fromBar: bars(Math.round((each.fromBar * length) / before)) }));
  return moved.filter(
    ({ fromBar }, index) => index === 0 || (fromBar > 0 && fromBar < length && fromBar !== moved[index + 1]?.fromBar),
  );
}
