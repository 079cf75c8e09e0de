/**
 * The plainest possible mixer, to judge the engine by: for every frame that comes out it goes through all voices and all
 * their iterations, looks the sample up in a plain array and multiplies what belongs to it, in doubles. It shares nothing
 * with the engine but the columns of a program.
 *
 * The rules, from the engine's contract: an iteration is [−lead, body, +tail] with a fade at each end; iteration k of a
 * voice has its body at start + k · period, if that lies before the voice's end; what sounds is a sum over all of them.
 */
import type { Program } from '../../src/core/program/program.js';
import { STRIP_FIELDS, Strip, VOICE_FIELDS, Voice } from '../../src/core/program/program.js';
import type { Performance } from './performance.js';

/** What was recorded or stored: samples by frame. A function where that is plainer than an array. */
export type ReferenceAudio = ArrayLike<number> | ((frame: number) => number);

/** One voice as a list of plain facts; lengths in frames, positions from the part's origin. */
export interface ReferenceVoice {
  readonly audio: ReferenceAudio;
  readonly bodyStart: number;
  readonly bodyFrames: number;
  /** The body where none is given. */
  readonly period?: number;
  readonly lead: number;
  readonly tail: number;
  readonly start: number;
  readonly end: number;
  readonly fadeIn: ArrayLike<number>;
  readonly fadeOut: ArrayLike<number>;
  readonly left: number;
  readonly right: number;
  /** Iterations whose body begins before this position were never heard. */
  readonly from?: number;
  /** Engine frames in which it is silent: an answer to "until when was it left out", say. */
  readonly silent?: readonly (readonly [number, number])[];
}

/** Voices that count their positions from one engine frame, up to the line at which their section ends. */
export interface ReferencePart {
  readonly origin: number;
  readonly voices: readonly ReferenceVoice[];
  /** Engine frame of the line at which the section ends: no body begins there or later, bodies under way are cut. */
  readonly cut?: number;
}

/** One frame of the sum, and how large its terms may be: Σ(gain · peak) over the iterations that sound there. */
export interface ReferenceFrame {
  readonly left: number;
  readonly right: number;
  readonly scale: number;
}

/** The voices of a program. `audioOf` gives what the program's handle and channel name. */
export function referenceVoices(
  program: Program,
  audioOf: (audio: number, channel: number) => ReferenceAudio,
): ReferenceVoice[] {
  const voices: ReferenceVoice[] = [];
  for (let at = 0; at < program.voices.length; at += VOICE_FIELDS) {
    const get = (column: number): number => program.voices[at + column]!;
    const strip = get(Voice.strip) * STRIP_FIELDS;
    voices.push({
      audio: audioOf(get(Voice.audio), get(Voice.channel)),
      bodyStart: get(Voice.bodyStart),
      bodyFrames: get(Voice.bodyFrames),
      period: get(Voice.period),
      lead: get(Voice.lead),
      tail: get(Voice.tail),
      start: get(Voice.start),
      end: get(Voice.end),
      fadeIn: program.curves.subarray(get(Voice.fadeInAt), get(Voice.fadeInAt) + get(Voice.fadeIn)),
      fadeOut: program.curves.subarray(get(Voice.fadeOutAt), get(Voice.fadeOutAt) + get(Voice.fadeOut)),
      left: program.strips[strip + Strip.left]!,
      right: program.strips[strip + Strip.right]!,
    });
  }
  return voices;
}

/** The sum at an engine frame. `peak` is the greatest absolute sample of all the audio. */
export function referenceFrame(parts: readonly ReferencePart[], frame: number, peak: number): ReferenceFrame {
  let left = 0;
  let right = 0;
  let scale = 0;
  for (const part of parts) {
    for (const voice of part.voices) {
      if (voice.silent?.some(([from, to]) => frame >= from && frame < to) === true) continue;
      const position = frame - part.origin;
      const cut = part.cut === undefined ? Infinity : part.cut - part.origin;
      for (let k = firstNear(voice, position); k <= lastNear(voice, position); k++) {
        const bodyAt = voice.start + k * periodOf(voice);
        if (k < 0 || bodyAt >= voice.end || bodyAt >= cut || bodyAt < (voice.from ?? -Infinity)) continue;
        if (bodyAt + voice.bodyFrames > cut && position >= cut) continue;
        const sample = iterationAt(voice, position - bodyAt);
        if (sample === null) continue;
        left += sample * voice.left;
        right += sample * voice.right;
        scale += Math.max(voice.left, voice.right) * peak;
      }
    }
  }
  return { left, right, scale };
}

/**
 * The greatest |engine − reference| ÷ Σ(gain · peak) over engine frames [from, to) of both channels of the foldback.
 * Infinity where something sounds and nothing should.
 */
export function greatestError(
  performance: Performance,
  parts: readonly ReferencePart[],
  from: number,
  to: number,
  peak = 1,
): number {
  const { left, right } = performance;
  let greatest = 0;
  for (let frame = from; frame < to; frame++) {
    const expected = referenceFrame(parts, frame, peak);
    const error = Math.max(Math.abs(left[frame]! - expected.left), Math.abs(right[frame]! - expected.right));
    if (error > 0) greatest = Math.max(greatest, error / expected.scale);
  }
  return greatest;
}

/** A sample of one iteration, `into` frames after its body began; null where the iteration does not reach. */
function iterationAt(voice: ReferenceVoice, into: number): number | null {
  const sinceStart = into + voice.lead;
  const untilEnd = voice.bodyFrames + voice.tail - into;
  if (sinceStart < 0 || untilEnd <= 0) return null;
  const { audio } = voice;
  const frame = voice.bodyStart + into;
  let sample = typeof audio === 'function' ? audio(frame) : (audio[frame] ?? 0);
  if (sinceStart < voice.fadeIn.length) sample *= voice.fadeIn[sinceStart]!;
  if (untilEnd <= voice.fadeOut.length) sample *= voice.fadeOut[voice.fadeOut.length - untilEnd]!;
  return sample;
}

const periodOf = ({ bodyFrames, period = bodyFrames }: ReferenceVoice): number => period;

// One iteration more on both sides than can reach the position: `iterationAt` says which do.
const firstNear = (voice: ReferenceVoice, position: number): number =>
  Math.floor((position - voice.start - voice.bodyFrames - Math.max(0, voice.tail)) / periodOf(voice)) - 1;
const lastNear = (voice: ReferenceVoice, position: number): number =>
  Math.ceil((position - voice.start + voice.lead) / periodOf(voice)) + 1;
