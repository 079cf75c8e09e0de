/**
 * The voice that plays a pass from its closing line on, before any program names it: the row that a program will have
 * for it, so that it goes on sample for sample when one does. Audio thread; runs while a command is handled.
 */
import { CurveShelf } from '../program/curve-shelf.js';
import { VOICE_FIELDS, Voice } from '../program/program.js';
import { writeBody, writeSeam } from '../program/voice-row.js';
import type { Seam } from '../seam/seam.js';
import { frames, sampleRate } from '../units/index.js';

/** As a program with one voice. */
export interface OwnVoice {
  readonly row: Float64Array;
  /** Fade tables that the row's indices point into. */
  readonly curves: Float32Array;
}

/** Where a pass lies: its body in its audio, and when it comes again, first as a position from the plan's origin. */
interface OwnBody {
  readonly id: number;
  readonly audio: number;
  readonly channel: number;
  readonly bodyStart: number;
  readonly bodyFrames: number;
  readonly start: number;
  /** Frames from one beginning to the next: at least the body. */
  readonly period: number;
}

/** @param seam null until the page has listened: a plain crossfade. */
export function ownVoice(body: OwnBody, seam: Seam | null, rate: number): OwnVoice {
  const row = new Float64Array(VOICE_FIELDS);
  const curves = new CurveShelf();
  row[Voice.id] = body.id;
  row[Voice.audio] = body.audio;
  row[Voice.channel] = body.channel;
  row[Voice.bodyStart] = body.bodyStart;
  row[Voice.start] = body.start;
  row[Voice.end] = Infinity;
  // Nothing has come in after the body yet.
  const { bodyFrames, bodyStart, period } = body;
  const room = { bodyFrames: frames(bodyFrames), period, lead: frames(Math.max(0, bodyStart)), tail: frames(0) };
  writeBody(row, bodyFrames, period);
  writeSeam(row, room, seam, curves, sampleRate(rate));
  return { row, curves: curves.toArray() };
}
