/** Voices drawn by lot, for properties: whatever a row of a program can say, within what an iteration may be. */
import fc from 'fast-check';
import type { RowVoice } from './row-programs.js';
import { falling, rising } from './row-programs.js';
import { noiseAt } from './signals.js';

/** Lengths as parts of what they are measured by, so that they fit whatever bar is drawn. */
export interface DrawnVoice {
  /** From one iteration to the next. */
  readonly bars: number;
  /** How much of that the body is; all of it unless said. */
  readonly body?: number;
  readonly lead: number;
  readonly tail: number;
  readonly fadeIn: number;
  readonly fadeOut: number;
  readonly before: number;
  readonly rotated: number;
  readonly ends: number | null;
  readonly level: number;
  readonly pan: number;
  readonly correlation: number;
}

/** A voice and how long the audio is that it plays. */
export type AudibleVoice = RowVoice & { readonly audioFrames: number };

/** So much gain times peak, all voices together, that the limiter is not concerned. */
const LOUDNESS = 0.4;

const parts = (from: number, to: number): fc.Arbitrary<number> =>
  fc.integer({ min: 100 * from, max: 100 * to }).map((hundredths) => hundredths / 100);

/** Bodies of 3 and 5 bars over 4; all of them come round together after at most 120 bars. */
export const drawnVoice: fc.Arbitrary<DrawnVoice> = fc.record({
  bars: fc.constantFrom(1, 2, 3, 4, 5, 6, 8),
  lead: fc.oneof(fc.constant(0), parts(0, 1)),
  /** In bodies: negative tails end before the line, long ones lie over several rounds. */
  tail: fc.oneof(fc.constant(0), parts(-0.5, 0), parts(0, 5)),
  fadeIn: fc.oneof(fc.constant(0), parts(0, 1)),
  fadeOut: fc.oneof(fc.constant(0), parts(0, 1)),
  before: parts(0, 1),
  rotated: fc.oneof(fc.constant(0), fc.integer({ min: -7, max: 3 })),
  ends: fc.option(fc.integer({ min: 1, max: 30 }), { freq: 3 }),
  level: parts(0, 1),
  pan: parts(0, 1),
  correlation: parts(0, 1),
});

/** One that is silent between its iterations, or may be: a run of a take whose audio jumps. */
export const drawnRun: fc.Arbitrary<DrawnVoice> = fc
  .tuple(drawnVoice, fc.oneof(parts(0.05, 1), fc.constantFrom(0.25, 0.5)))
  .map(([voice, body]) => ({ ...voice, body }));

/**
 * The voices as rows.
 * @param first id of the first voice, and handle of its audio; the others follow.
 */
export function audibleVoices(drawn: readonly DrawnVoice[], barFrames: number, first: number): AudibleVoice[] {
  return drawn.map((each, index) => {
    const period = each.bars * barFrames;
    const bodyFrames = Math.ceil((each.body ?? 1) * period);
    const lead = Math.floor(each.lead * Math.min(bodyFrames, 2000));
    const tail = Math.floor(each.tail * bodyFrames);
    const length = lead + bodyFrames + tail;
    const level = (LOUDNESS * each.level) / drawn.length / Math.ceil(length / period);
    const bodyStart = lead + Math.floor(each.before * 20_000);
    return {
      id: first + index,
      audio: first + index,
      bodyStart,
      bodyFrames,
      period,
      lead,
      tail,
      start: Math.max(each.rotated, 1 - each.bars) * barFrames,
      end: each.ends === null ? Infinity : each.ends * barFrames,
      fadeIn: rising(Math.floor(each.fadeIn * Math.min(length, 900)), each.correlation),
      fadeOut: falling(Math.floor(each.fadeOut * Math.min(length, 900)), each.correlation),
      left: level * each.pan,
      right: level * (1 - each.pan),
      audioFrames: bodyStart + bodyFrames + Math.max(0, tail),
    };
  });
}

/** Noise for every voice, other noise for each, −1 … 1. */
export const audioOf = (voices: readonly AudibleVoice[]): Map<number, Float32Array> =>
  new Map(
    voices.map(({ audio, audioFrames, id }) => [
      audio,
      Float32Array.from({ length: audioFrames }, (_, i) => noiseAt(i, id)),
    ]),
  );
