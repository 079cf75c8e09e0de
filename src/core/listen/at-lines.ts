/** What was played round the two lines of a body: onsets and levels, from which a seam is decided. */
import type { Frames, SampleRate } from '../units/index.js';
import { addFrames, frames } from '../units/index.js';
import { levelAround } from './level.js';
import { LONGEST_TAIL_SECONDS } from './longest-tail.js';
import { findOnsets } from './onsets.js';

/** Levels before and after a line are taken over this long. */
const LEVEL_SECONDS = 0.05;
/** What follows the start line is of interest as far as an attack meant for it may be late. */
const AFTER_SECONDS = 0.15;
/** What the onset finder needs before it says anything, and some more. */
const RUN_UP_SECONDS = 0.1;
const TAIL_HOP_SECONDS = 0.02;
/** Own choice: 26 dB under the body's level, the 30 ms from an onset on are a chair or a breath, not a note. */
const NOTE_SECONDS = 0.03;
const NOTE_OVER_BODY = 0.05;

/** Onsets are frames from the line in ascending order, negative before it; levels are linear root mean squares. */
export interface HeardAtLines {
  /** From two beats before the line at the body's start to 150 ms after it. */
  readonly startOnsets: readonly Frames[];
  /** From two beats before the line at the body's end to as far as the tail was followed. */
  readonly endOnsets: readonly Frames[];
  /** 50 ms before and after the line at the start, and before the line at the end. */
  readonly leadLevel: number;
  readonly startLevel: number;
  readonly endLevel: number;
  /** From the line at the end on, one for every `tailHop` frames, 12 s at most. */
  readonly tailLevels: readonly number[];
  readonly tailHop: Frames;
}

/** A body in its recording; `lead` and `tail` frames exist round it and belong to the same playing. */
export interface Body {
  readonly bodyStart: Frames;
  readonly bodyFrames: Frames;
  readonly lead: Frames;
  readonly tail: Frames;
}

/** An onset in frames from the line, and the root mean square of the 30 ms from it on. */
interface NearOnset {
  readonly frame: Frames;
  readonly level: number;
}

/** What was played round the line at a body's start. */
export interface HeardAtStart {
  /** As `startOnsets` of HeardAtLines, but whether each is a note is not said. */
  readonly onsets: readonly NearOnset[];
  readonly leadLevel: number;
  readonly startLevel: number;
}

/** Whether an onset is a note, in a body of that level; else it is a chair or a breath. */
export const isNote = ({ level }: NearOnset, bodyLevel: number): boolean => level >= NOTE_OVER_BODY * bodyLevel;

/**
 * @param samples the lead, and what came after it: the body as far as it is known.
 * @param line where in them the body begins.
 */
export function listenAtStart(samples: Float32Array, line: number, beatFrames: Frames, rate: SampleRate): HeardAtStart {
  const reach = Math.round(LEVEL_SECONDS * rate);
  return {
    onsets: onsetsNear(samples, line, Math.round(AFTER_SECONDS * rate), beatFrames, rate),
    leadLevel: levelAround(samples, line, Math.min(reach, line), 0),
    startLevel: levelAround(samples, line, 0, reach),
  };
}

/** Any thread, not in `process`: allocates. */
export function listenAtLines(samples: Float32Array, body: Body, beatFrames: Frames, rate: SampleRate): HeardAtLines {
  const inFrames = (time: number): number => Math.round(time * rate);
  const start = body.bodyStart;
  const end = addFrames(start, body.bodyFrames);
  const reach = inFrames(LEVEL_SECONDS);
  const tail = Math.min(body.tail, inFrames(LONGEST_TAIL_SECONDS));
  const tailHop = inFrames(TAIL_HOP_SECONDS);
  const origin = Math.max(0, start - body.lead);
  const played = samples.subarray(origin, end + tail);
  const bodyLevel = levelAround(samples, start, 0, body.bodyFrames);
  const { onsets, leadLevel, startLevel } = listenAtStart(played, start - origin, beatFrames, rate);
  const notesIn = (near: readonly NearOnset[]): readonly Frames[] =>
    near.filter((onset) => isNote(onset, bodyLevel)).map(({ frame }) => frame);
  return {
    startOnsets: notesIn(onsets),
    endOnsets: notesIn(onsetsNear(played, end - origin, tail, beatFrames, rate)),
    leadLevel,
    startLevel,
    endLevel: levelAround(samples, end, reach, 0),
    tailLevels: Array.from({ length: Math.floor(tail / tailHop) }, (_, k) =>
      levelAround(samples, end + k * tailHop, 0, tailHop),
    ),
    tailHop: frames(tailHop),
  };
}

/** Onsets from two beats before a line to `after` frames after it. */
function onsetsNear(
  played: Float32Array,
  line: number,
  after: number,
  beatFrames: Frames,
  rate: SampleRate,
): readonly NearOnset[] {
  const before = 2 * beatFrames;
  const from = Math.max(0, line - before - Math.round(RUN_UP_SECONDS * rate));
  return findOnsets(played.subarray(from, line + after), rate)
    .map(({ frame }) => ({
      frame: frames(frame + from - line),
      level: levelAround(played, frame + from, 0, Math.round(NOTE_SECONDS * rate)),
    }))
    .filter(({ frame }) => frame >= -before);
}
