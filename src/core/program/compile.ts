/**
 * A song and a purpose to a program. Pure: the same song, purpose and handles give the same arrays.
 */
import type { LayerId, RecordingId, SectionId } from '../song/ids.js';
import { levelOf } from '../song/levels.js';
import { sectionOf, takeInUse } from '../song/lookups.js';
import { songBar, stretchesOfSection } from '../song/section-time.js';
import type { Section, Song } from '../song/song.js';
import type { Decibels } from '../units/index.js';
import { frames, gainFromDecibels } from '../units/index.js';
import { CurveShelf } from './curve-shelf.js';
import type { Program } from './program.js';
import { STRIP_FIELDS, Strip, VOICE_FIELDS, Voice } from './program.js';
import { ProgramGrid } from './program-grid.js';
import { programStretches } from './stretch-arrays.js';
import { voicesOfTake } from './voice-row.js';

/** What a program is for. */
export interface LoopPurpose {
  readonly type: 'loop';
  readonly section: SectionId;
}

/** Numbers by which the engine knows layers and recordings. They stay the same while an engine lives. */
export interface Handles {
  /**
   * @param fromBar of the layer's take: from there on a voice of its own plays, since something moved the audio under the
   * pass there. 0 for the voice that the layer is known by.
   */
  voiceOf(layer: LayerId, fromBar: number): number;
  audioOf(recording: RecordingId): number;
  /** See Program. */
  readonly passesKnown: number;
}

/** The bars of a section, round and round; while its length is open, a bar at a time. */
export function sectionGrid(song: Song, section: Section): ProgramGrid {
  return new ProgramGrid(programStretches(stretchesOfSection(song, section), song.sampleRate, true, songBar(song)));
}

export function compile(song: Song, purpose: LoopPurpose, handles: Handles, revision: number): Program {
  const section = sectionOf(song, purpose.section);
  const curves = new CurveShelf();
  const grid = sectionGrid(song, section);
  let leadFrames = 0;
  const rows: Float64Array[] = [];
  const strips = new Float64Array(section.layers.length * STRIP_FIELDS);
  section.layers.forEach((layer, index) => {
    const take = takeInUse(layer);
    for (const { fromBar, row } of voicesOfTake(take, grid, curves, song.sampleRate)) {
      // What begins behind the top has its lead before it only as far as that reaches.
      leadFrames = Math.max(leadFrames, (row[Voice.lead] ?? 0) - Math.max(0, row[Voice.start] ?? 0));
      row[Voice.id] = handles.voiceOf(layer.id, fromBar);
      row[Voice.audio] = handles.audioOf(take.recording);
      row[Voice.strip] = index;
      rows.push(row);
    }
    writeStrip(strips.subarray(index * STRIP_FIELDS, (index + 1) * STRIP_FIELDS), levelOf(section, index));
  });
  return {
    revision,
    sampleRate: song.sampleRate,
    passesKnown: handles.passesKnown,
    pageFrames: Infinity,
    leadFrames: frames(leadFrames),
    voices: inOneArray(rows),
    strips,
    stretches: grid.stretches,
    curves: curves.toArray(),
  };
}

function inOneArray(rows: readonly Float64Array[]): Float64Array<ArrayBuffer> {
  const voices = new Float64Array(rows.length * VOICE_FIELDS);
  rows.forEach((row, index) => {
    voices.set(row, index * VOICE_FIELDS);
  });
  return voices;
}

function writeStrip(row: Float64Array, level: Decibels): void {
  const gain = gainFromDecibels(level);
  row[Strip.left] = gain;
  row[Strip.right] = gain;
}
