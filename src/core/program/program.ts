/**
 * The program: a song and a purpose, flattened into typed arrays that cross to the audio thread by transfer. Voices are
 * rows of VOICE_FIELDS numbers. All positions are frames; song position 0 is bar line 0.
 *
 * A voice plays iterations of `[−lead, body, +tail]`, one a period, each with a fade at both ends; iterations may overlap.
 * A take whose audio jumps is several voices, one for each run of bars, with the period of the whole. What sounds at a position is a function of the position alone (core/render/voice-iterations), so a voice can
 * be joined anywhere and never drifts.
 */
import type { Frames, SampleRate } from '../units/index.js';

/** Columns of a voice's row. */
export const Voice = {
  /** Stable: a program that names a sounding voice continues it. */
  id: 0,
  /** Handle of the recording. */
  audio: 1,
  channel: 2,
  /** First frame of the body in the audio. */
  bodyStart: 3,
  bodyFrames: 4,
  lead: 5,
  tail: 6,
  /** Song position of the body of iteration 0. May be negative: then the voice is joined under way. */
  start: 7,
  /** Song position from which no iteration begins; Infinity for ever. */
  end: 8,
  /** First index in `curves` and length of the fade at the beginning of an iteration; length 0 for none. */
  fadeInAt: 9,
  fadeIn: 10,
  /** The same for its end, falling. */
  fadeOutAt: 11,
  fadeOut: 12,
  /** Index of the voice's strip. Voices that follow each other on one strip are one layer, known by the first one's id. */
  strip: 13,
  /** Frames from the beginning of one iteration's body to the next one's. */
  period: 14,
} as const;
export const VOICE_FIELDS = 15;

/** Columns of a strip's row: linear gains to left and right, with the pan already in them. */
export const Strip = { left: 0, right: 1, lowCut: 2, tilt: 3, send: 4 } as const;
export const STRIP_FIELDS = 5;

/**
 * `stretches` begins with these, then come its rows, then the pulse offsets that the rows point to. A row is a run of
 * equal bars; row 0 is the bar before the first one, and goes on backwards for ever. Without a loop the last row goes on
 * for ever.
 */
export const StretchHead = {
  rows: 0,
  /** Bars [loopBar, loopBar + loopBars) come again and again, loopFrames a round. `loopBars` 0: nothing comes again. */
  loopBar: 1,
  loopBars: 2,
  loopFrames: 3,
  /** From this bar on nothing clicks; Infinity for ever. */
  endBar: 4,
} as const;
export const STRETCH_HEAD_FIELDS = 5;

/** Columns of a stretch's row. */
export const Stretch = {
  /** Song position of its first bar line; of row 0, of the line after its bars. */
  start: 0,
  startBar: 1,
  barFrames: 2,
  /** Pulses in a bar; 1 in free time. */
  pulses: 3,
  /** Bit j is set where pulse j opens a felt beat. Bit 0 always is, but in free time, which has no beats. */
  beats: 4,
  /** Bit j is set where pulse j opens a later group among evenly counted beats. */
  groups: 5,
  /** Index in `stretches` of the frames from the line to each pulse; after the last comes `barFrames`. */
  offsetsAt: 6,
} as const;
export const STRETCH_FIELDS = 7;

/**
 * Frames for which time stands still until a press: 265 days at 48 kHz. What lies behind has positions that are never
 * reached and stay whole numbers, for up to 8000 standstills in a row.
 */
export const STANDSTILL = 2 ** 40;

export interface Program {
  /** Counts up with every compilation. */
  readonly revision: number;
  readonly sampleRate: SampleRate;
  /**
   * The newest pass whose layer the song had been told of. A voice that the engine started for that pass or an earlier
   * one is either in this program or was taken back.
   */
  readonly passesKnown: number;
  /** Frames before line 0 in which leads sound when playing starts at the top. */
  readonly leadFrames: Frames;
  /** Where a program that is sent in pages runs out; Infinity where nothing is missing. */
  readonly pageFrames: number;
  readonly voices: Float64Array<ArrayBuffer>;
  readonly strips: Float64Array<ArrayBuffer>;
  /** Bar lines, pulses and beats: StretchHead, rows of Stretch, pulse offsets (see stretch-arrays.ts, ProgramGrid). */
  readonly stretches: Float64Array<ArrayBuffer>;
  /** Fade tables, one after the other. */
  readonly curves: Float32Array<ArrayBuffer>;
}

/** The id by which the layer of a voice is known. */
export function layerVoice({ voices }: Program, voice: number): number {
  const get = (index: number, column: number): number => voices[index * VOICE_FIELDS + column] ?? 0;
  let first = voice;
  while (first > 0 && get(first - 1, Voice.strip) === get(voice, Voice.strip)) first--;
  return get(first, Voice.id);
}

export const voiceCount = (program: Program): number => program.voices.length / VOICE_FIELDS;
