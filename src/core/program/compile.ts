/**
 * A song and a purpose to a program. Pure: the same song, purpose and handles give the same arrays.
 */
import { barFrames } from '../meter/grid.js';
import { beatMask } from '../meter/metres.js';
import { crossfadeTables } from '../seam/crossfade.js';
import type { LayerId, RecordingId, SectionId } from '../song/ids.js';
import { sectionOf, takeInUse } from '../song/lookups.js';
import type { Layer, Song, Take } from '../song/song.js';
import type { Frames } from '../units/index.js';
import { frames, framesFromSeconds, gainFromDecibels, seconds } from '../units/index.js';
import type { Program } from './program.js';
import { STRETCH_FIELDS, STRIP_FIELDS, Stretch, Strip, VOICE_FIELDS, Voice } from './program.js';

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

/** Length of the crossfade at a seam (engine contract: about 10 ms). */
const SEAM_SECONDS = seconds(0.01);

export function compile(song: Song, purpose: LoopPurpose, handles: Handles, revision: number): Program {
  const section = sectionOf(song, purpose.section);
  const fade = framesFromSeconds(SEAM_SECONDS, song.sampleRate);
  const { fadeIn, fadeOut } = crossfadeTables(fade, 0);
  const curves = new Float32Array(2 * fade);
  curves.set(fadeIn, 0);
  curves.set(fadeOut, fade);
  const voices = new Float64Array(section.layers.length * VOICE_FIELDS);
  const strips = new Float64Array(section.layers.length * STRIP_FIELDS);
  section.layers.forEach((layer, index) => {
    const take = takeInUse(layer);
    const row = voices.subarray(index * VOICE_FIELDS, (index + 1) * VOICE_FIELDS);
    writeVoice(row, take, fade);
    row[Voice.id] = handles.voiceOf(layer.id);
    row[Voice.audio] = handles.audioOf(take.recording);
    row[Voice.strip] = index;
    writeStrip(strips.subarray(index * STRIP_FIELDS, (index + 1) * STRIP_FIELDS), layer);
  });
  return {
    revision,
    sampleRate: song.sampleRate,
    passesKnown: handles.passesKnown,
    pageFrames: Infinity,
    leadFrames: frames(section.layers.length === 0 ? 0 : fade),
    voices,
    strips,
    stretches: stretchesOf(song),
    curves,
  };
}

/**
 * Phase counts from line 0: a take that was begun at bar 2 of its four is under way when playing starts, so its
 * iteration 0 begins two bars before the top.
 */
function writeVoice(row: Float64Array, take: Take, fade: Frames): void {
  const lead = Math.min(fade, take.lead);
  const barFramesOfTake = take.bodyFrames / take.bars;
  row[Voice.channel] = take.channel;
  row[Voice.bodyStart] = take.bodyStart;
  row[Voice.bodyFrames] = take.bodyFrames;
  row[Voice.lead] = lead;
  row[Voice.start] = take.startBar === 0 ? 0 : (take.startBar - take.bars) * barFramesOfTake;
  row[Voice.end] = Infinity;
  row[Voice.fadeInAt] = fade - lead;
  row[Voice.fadeIn] = lead;
  row[Voice.fadeOutAt] = fade;
  row[Voice.fadeOut] = fade;
}

function writeStrip(row: Float64Array, layer: Layer): void {
  const level = layer.leftOut ? 0 : gainFromDecibels(layer.gain);
  row[Strip.left] = level;
  row[Strip.right] = level;
}

function stretchesOf(song: Song): Float64Array<ArrayBuffer> {
  const rows = new Float64Array(STRETCH_FIELDS);
  rows[Stretch.barFrames] = barFrames(song.metre, song.tempo, song.sampleRate);
  rows[Stretch.pulses] = song.metre.num;
  rows[Stretch.beats] = beatMask(song.metre);
  return rows;
}
