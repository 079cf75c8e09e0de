/** A take as a voice: what its seam says, as a row of the program. */
import { crossfadeFrames } from '../seam/crossfade.js';
import type { Take } from '../song/song.js';
import type { SampleRate } from '../units/index.js';
import { frames } from '../units/index.js';
import type { CurveShelf } from './curve-shelf.js';
import { Voice } from './program.js';

/** Iterations of a voice that may sound at a time. */
export const MOST_ITERATIONS = 8;

/**
 * Writes all of a row but its id, its audio and its strip.
 *
 * Phase counts from line 0: a take that was begun at bar 2 of its four is under way when playing starts, so its
 * iteration 0 begins two bars before the top.
 */
export function writeVoice(row: Float64Array, take: Take, curves: CurveShelf, rate: SampleRate): void {
  const barFramesOfTake = take.bodyFrames / take.bars;
  row[Voice.channel] = take.channel;
  row[Voice.bodyStart] = take.bodyStart;
  row[Voice.bodyFrames] = take.bodyFrames;
  row[Voice.start] = take.startBar === 0 ? 0 : (take.startBar - take.bars) * barFramesOfTake;
  row[Voice.end] = Infinity;
  if (take.seam.decided === null) writeUndecided(row, take, curves, rate);
  else writeDecided(row, take, curves);
}

/** Until the lines have been listened to: the crossfade that the engine itself plays a fresh pass with. */
function writeUndecided(row: Float64Array, take: Take, curves: CurveShelf, rate: SampleRate): void {
  const fade = crossfadeFrames(rate, 0);
  const lead = Math.min(fade, take.lead);
  row[Voice.lead] = lead;
  row[Voice.tail] = 0;
  row[Voice.fadeInAt] = curves.rising(fade, 0) + fade - lead;
  row[Voice.fadeIn] = lead;
  row[Voice.fadeOutAt] = curves.falling(fade, 0);
  row[Voice.fadeOut] = fade;
}

/**
 * Lead and tail are kept so short that no more than MOST_ITERATIONS sound together: each iteration sounds for
 * lead + body + tail, one begins every body, so lead + tail ≤ (MOST_ITERATIONS − 1) bodies. Where a tail is longer, the
 * oldest iteration fades out as the newest comes in.
 */
function writeDecided(row: Float64Array, take: Take, curves: CurveShelf): void {
  const { decided: seam } = take.seam;
  if (seam === null) return;
  const most = (MOST_ITERATIONS - 1) * take.bodyFrames;
  const lead = Math.min(seam.leadFrames, take.lead, most - Math.min(0, seam.tailFrames));
  const tail = Math.min(seam.tailFrames, take.tail, most - lead);
  const length = lead + take.bodyFrames + tail;
  const fadeIn = frames(Math.min(seam.fadeInFrames, length));
  const fadeOut = frames(Math.min(seam.fadeOutFrames, length));
  row[Voice.lead] = lead;
  row[Voice.tail] = tail;
  row[Voice.fadeInAt] = curves.rising(fadeIn, seam.fadeInShape);
  row[Voice.fadeIn] = fadeIn;
  row[Voice.fadeOutAt] = curves.falling(fadeOut, seam.fadeOutShape);
  row[Voice.fadeOut] = fadeOut;
}
