/** Whether and how long the end of a body rings on over what follows. */
import type { SeamEvidence } from './seam.js';

/** Own choice: 48 dB down, or −66 dBFS, a tail is lost under the next note and the noise of a room. */
const FADED = 10 ** (-48 / 20);
const SILENT = 10 ** (-66 / 20);
/** Where nobody knows whether the player stopped: own choice, what is left alone falls by 4 dB in a second or sooner. */
const DECAY = 10 ** (-4 / 20);
const DECAY_SECONDS = 1;
/** The last part of that second is averaged, so that no tremolo passes for a decay. */
const AVERAGED = 0.25;
/** Own choice: less is no ringing, and leaves no room for its fade. */
const SHORTEST_SECONDS = 0.02;
/** A later onset (a chair, the next try) ends the ringing so long before it: the onset may be placed 3 ms late. */
const BEFORE_ONSET_SECONDS = 0.005;

/** @returns whole frames after the end line, 0 for none. */
export function ringFrames(evidence: SeamEvidence): number {
  if (evidence.playedOn === true || evidence.endLevel < SILENT) return 0;
  if (evidence.playedOn === null && !seemsToStop(evidence)) return 0;
  const { rate, tailHop, tailLevels, endLevel } = evidence;
  const threshold = Math.max(endLevel * FADED, SILENT);
  const under = tailLevels.findIndex((level) => level < threshold);
  const faded = under < 0 ? evidence.tail : under * tailHop;
  const next = evidence.endOnsets.find((frame) => frame >= 0) ?? Infinity;
  const length = Math.floor(Math.min(evidence.tail, faded, next - BEFORE_ONSET_SECONDS * rate));
  return length >= SHORTEST_SECONDS * rate ? length : 0;
}

/** Nothing new within a beat after the line, and what sounded falls. */
function seemsToStop({ rate, beatFrames, endOnsets, tailLevels, tailHop, endLevel }: SeamEvidence): boolean {
  if (endOnsets.some((frame) => frame >= 0 && frame < beatFrames)) return false;
  const levels = tailLevels.slice(0, Math.round((DECAY_SECONDS * rate) / tailHop));
  const last = levels.slice(Math.floor(levels.length * (1 - AVERAGED)));
  return last.length > 0 && mean(last) < endLevel * DECAY;
}

const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;
