/** Whether and how long the end of a body rings on over what follows. */
import type { SeamEvidence } from './seam.js';

/** Own choice: 48 dB down, or −66 dBFS, a tail is lost under the next note and the noise of a room. */
export const FADED = 10 ** (-48 / 20);
export const SILENT = 10 ** (-66 / 20);
/** Where nobody knows whether the player stopped: own choice, what is left alone falls by 4 dB in a second or sooner. */
export const DECAY = 10 ** (-4 / 20);
const DECAY_SECONDS = 1;
/** The last part of that second is averaged, so that no tremolo passes for a decay. */
const AVERAGED = 0.25;
/** Own choice: less is no ringing, and leaves no room for its fade. */
const SHORTEST_SECONDS = 0.02;
/** A later onset (a chair, the next try) ends the ringing so long before it: the onset may be placed 3 ms late. */
const BEFORE_ONSET_SECONDS = 0.005;

/** Ringing that has faded by itself ends under a fade of this length. */
const FADED_SECONDS = 0.01;
/**
 * Own choice, by trial: ringing that is cut (by the next onset, or because no more is there) fades for so long for every
 * decibel that it is still above where it would be lost. Measured on a tone that falls by 4.6 dB in a second and is cut
 * 37 dB above: it falls by 4 dB in 20 ms at most until it is 40 dB down. Under a fade of 10 ms it falls by all of them.
 */
const CUT_SECONDS_PER_DECIBEL = 0.05;
/** Own choice: so much of a ring may be fade, and so long may it be. */
const MOST_FADE = 0.75;
const LONGEST_FADE_SECONDS = 1;

/** In frames after the end line. */
interface Ringing {
  readonly frames: number;
  /** Its last frames, in which it falls. */
  readonly fade: number;
}

/** @returns null where the end does not ring on. */
export function ringingOf(evidence: SeamEvidence): Ringing | null {
  if (evidence.playedOn === true || evidence.endLevel < SILENT) return null;
  if (evidence.playedOn === null && !seemsToStop(evidence)) return null;
  const { rate, tailHop, tailLevels, endLevel } = evidence;
  const threshold = Math.max(endLevel * FADED, SILENT);
  const under = tailLevels.findIndex((level) => level < threshold);
  const faded = under < 0 ? evidence.tail : under * tailHop;
  const next = evidence.endOnsets.find((frame) => frame >= 0) ?? Infinity;
  const length = Math.floor(Math.min(evidence.tail, faded, next - BEFORE_ONSET_SECONDS * rate));
  if (length < SHORTEST_SECONDS * rate) return null;
  const isCut = under < 0 || length < under * tailHop;
  const over = isCut ? 20 * Math.log10(levelAt(evidence, length) / threshold) : 0;
  const fade = Math.min(over * CUT_SECONDS_PER_DECIBEL, LONGEST_FADE_SECONDS) * rate;
  return { frames: length, fade: Math.round(Math.max(FADED_SECONDS * rate, Math.min(fade, MOST_FADE * length))) };
}

/** How loud the tail is where it is cut: over the last whole hop before, or at the line. */
function levelAt({ tailLevels, tailHop, endLevel }: SeamEvidence, frame: number): number {
  return tailLevels[Math.min(Math.floor(frame / tailHop), tailLevels.length) - 1] ?? endLevel;
}

/** Nothing new within a beat after the line, and what sounded falls. */
function seemsToStop({ rate, beatFrames, endOnsets, tailLevels, tailHop, endLevel }: SeamEvidence): boolean {
  if (endOnsets.some((frame) => frame >= 0 && frame < beatFrames)) return false;
  const levels = tailLevels.slice(0, Math.round((DECAY_SECONDS * rate) / tailHop));
  const last = levels.slice(Math.floor(levels.length * (1 - AVERAGED)));
  return last.length > 0 && mean(last) < endLevel * DECAY;
}

const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;
