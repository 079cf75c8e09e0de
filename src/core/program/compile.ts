/**
 * A song and a purpose to a program. Pure: the same song, purpose and handles give the same arrays.
 */
import type { LayerId, RecordingId, SectionId } from '../song/ids.js';
import { levelOf } from '../song/levels.js';
import { sectionOf, takeInUse } from '../song/lookups.js';
import type { Song } from '../song/song.js';
import type { Decibels } from '../units/index.js';
import { bars, frames, gainFromDecibels } from '../units/index.js';
import { CurveShelf } from './curve-shelf.js';
import type { Program } from './program.js';
import { STRIP_FIELDS, Strip, VOICE_FIELDS, Voice } from './program.js';
import { programStretches } from './stretch-arrays.js';
import { writeVoice } from './voice-row.js';

/** What a program is for. */
export interface LoopPurpose {
  readonly type: 'loop';
  readonly section: SectionId;
}

/** Numbers by which the engine knows layers and recordings. They stay the same while an engine lives. */
export interface Handles {
  voiceOf(layer: LayerId): number;
  audioOf(recording: RecordingId): number;
  /** See Program. */
  readonly passesKnown: number;
}

export function compile(song: Song, purpose: LoopPurpose, handles: Handles, revision: number): Program {
  const section = sectionOf(song, purpose.section);
  const curves = new CurveShelf();
  let leadFrames = 0;
  const voices = new Float64Array(section.layers.length * VOICE_FIELDS);
  const strips = new Float64Array(section.layers.length * STRIP_FIELDS);
  section.layers.forEach((layer, index) => {
    const take = takeInUse(layer);
    const row = voices.subarray(index * VOICE_FIELDS, (index + 1) * VOICE_FIELDS);
    writeVoice(row, take, curves, song.sampleRate);
    leadFrames = Math.max(leadFrames, row[Voice.lead] ?? 0);
    row[Voice.id] = handles.voiceOf(layer.id);
    row[Voice.audio] = handles.audioOf(take.recording);
    row[Voice.strip] = index;
    writeStrip(strips.subarray(index * STRIP_FIELDS, (index + 1) * STRIP_FIELDS), levelOf(section, index));
  });
  return {
    revision,
    sampleRate: song.sampleRate,
    passesKnown: handles.passesKnown,
    pageFrames: Infinity,
    leadFrames: frames(leadFrames),
    voices,
    strips,
    stretches: stretchesOf(song, purpose),
    curves: curves.toArray(),
  };
}

function writeStrip(row: Float64Array, level: Decibels): void {
  const gain = gainFromDecibels(level);
  row[Strip.left] = gain;
  row[Strip.right] = gain;
}

/** The section's bars, round and round. While its length is open, a bar at a time. */
function stretchesOf(song: Song, { section }: LoopPurpose): Float64Array<ArrayBuffer> {
  const { metre, tempo, sampleRate } = song;
  const length = sectionOf(song, section).bars ?? bars(1);
  return programStretches([{ type: 'steady', bars: length, metre, tempo, holds: [] }], sampleRate, true);
}
