/** Programs for tests, given voice by voice, as rows: everything that a program can say, whether or not the app says it yet. */
import type { Program } from '../../src/core/program/program.js';
import { STRIP_FIELDS, Strip, VOICE_FIELDS, Voice } from '../../src/core/program/program.js';
import { layOutBars } from '../../src/core/program/stretch-arrays.js';
import { frames, sampleRate } from '../../src/core/units/index.js';

/** A voice; lengths and positions in frames, gains linear. Fades are the tables themselves. */
export interface RowVoice {
  readonly id: number;
  readonly audio: number;
  readonly channel?: number;
  readonly bodyStart: number;
  readonly bodyFrames: number;
  readonly lead?: number;
  readonly tail?: number;
  readonly start?: number;
  readonly end?: number;
  /** Frames between iterations; the body where none is given. */
  readonly period?: number;
  readonly fadeIn?: Float32Array;
  readonly fadeOut?: Float32Array;
  readonly left?: number;
  readonly right?: number;
}

/** Bar lines that hold for ever. */
export interface RowGrid {
  readonly rate: number;
  readonly barFrames: number;
  readonly pulses: number;
  /** Bit j is set where pulse j opens a felt beat. */
  readonly beats: number;
}

export interface RowProgram {
  readonly grid: RowGrid;
  readonly voices: readonly RowVoice[];
  readonly revision?: number;
  readonly passesKnown?: number;
}

export function rowProgram({ grid, voices, revision = 1, passesKnown = 0 }: RowProgram): Program {
  const rows = new Float64Array(voices.length * VOICE_FIELDS);
  const strips = new Float64Array(voices.length * STRIP_FIELDS);
  const tables = voices.flatMap((voice) => [voice.fadeIn ?? NO_FADE, voice.fadeOut ?? NO_FADE]);
  const curves = new Float32Array(tables.reduce((length, table) => length + table.length, 0));
  let used = 0;
  voices.forEach((voice, index) => {
    const row = rows.subarray(index * VOICE_FIELDS, (index + 1) * VOICE_FIELDS);
    const fadeIn = voice.fadeIn ?? NO_FADE;
    const fadeOut = voice.fadeOut ?? NO_FADE;
    row[Voice.id] = voice.id;
    row[Voice.audio] = voice.audio;
    row[Voice.channel] = voice.channel ?? 0;
    row[Voice.bodyStart] = voice.bodyStart;
    row[Voice.bodyFrames] = voice.bodyFrames;
    row[Voice.lead] = voice.lead ?? 0;
    row[Voice.tail] = voice.tail ?? 0;
    row[Voice.start] = voice.start ?? 0;
    row[Voice.end] = voice.end ?? Infinity;
    row[Voice.fadeInAt] = used;
    row[Voice.fadeIn] = fadeIn.length;
    row[Voice.fadeOutAt] = used + fadeIn.length;
    row[Voice.fadeOut] = fadeOut.length;
    row[Voice.strip] = index;
    row[Voice.period] = voice.period ?? voice.bodyFrames;
    curves.set(fadeIn, used);
    curves.set(fadeOut, used + fadeIn.length);
    used += fadeIn.length + fadeOut.length;
    strips[index * STRIP_FIELDS + Strip.left] = voice.left ?? 1;
    strips[index * STRIP_FIELDS + Strip.right] = voice.right ?? voice.left ?? 1;
  });
  return {
    revision,
    sampleRate: sampleRate(grid.rate),
    passesKnown,
    pageFrames: Infinity,
    leadFrames: frames(Math.max(0, ...voices.map((voice) => ((voice.start ?? 0) < 0 ? 0 : leadBeforeTop(voice))))),
    voices: rows,
    strips,
    stretches: stretchesOf(grid),
    curves,
  };
}

/**
 * A fade over `length` frames, rising, taken in the middle of each: x/√(x² + (1−x)² + 2r·x(1−x)), r the correlation of
 * the two signals. Source: Fink, Holters, Zölzer, DAFx-16 (2016).
 */
export const rising = (length: number, r: number): Float32Array =>
  Float32Array.from({ length }, (_, i) => {
    const x = (i + 0.5) / length;
    return x / Math.sqrt(x * x + (1 - x) * (1 - x) + 2 * r * x * (1 - x));
  });
export const falling = (length: number, r: number): Float32Array => rising(length, r).reverse();

/** A seam of `length` frames before the line for a voice that has that much before its body. */
export const crossfaded = (length: number, r: number) => ({
  lead: length,
  tail: 0,
  fadeIn: rising(length, r),
  fadeOut: falling(length, r),
});

function stretchesOf({ barFrames, pulses, beats }: RowGrid): Float64Array<ArrayBuffer> {
  const offsets = Array.from({ length: pulses + 1 }, (_, j) => Math.floor((j * barFrames) / pulses + 0.5));
  const bar = { bars: 1, beats, groups: 0, offsets };
  return layOutBars({ before: bar, firstBar: 0, firstFrame: 0, runs: [bar], loopBars: 1, endBar: Infinity });
}

const NO_FADE = new Float32Array(0);
const leadBeforeTop = (voice: RowVoice): number => Math.max(0, (voice.lead ?? 0) - (voice.start ?? 0));
