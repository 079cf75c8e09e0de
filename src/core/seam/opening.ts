/**
 * How a body opens, before its end has come in: whether an attack landed early, and whether what lies before it was
 * played. It is decided as for the whole seam (decide.ts), so that the first repeat begins as every later one does. What
 * can't be known yet is left as it most often is: the end holds no attack of the next round, does not ring on, is as loud
 * as the body and unrelated to the beginning. Once it is known, fades may be curved otherwise, a lead may begin earlier
 * because the end's own early attack did, a silent lead may be 10 ms long and not 2, and a tail may ring; attacks stay as
 * they are.
 */
import type { HeardAtStart } from '../listen/at-lines.js';
import { isNote, listenAtStart } from '../listen/at-lines.js';
import type { Frames, SampleRate } from '../units/index.js';
import { decideSeam } from './decide.js';
import type { Seam } from './seam.js';

/** What comes later after the line says nothing about how a body opens. */
export const OPENING_SECONDS = 0.2;

/** What is known of an opening; the rest depends on how loud the body is. */
export interface HeardOpening {
  readonly heard: HeardAtStart;
  readonly lead: number;
  readonly beatFrames: Frames;
  readonly rate: SampleRate;
}

/**
 * Any thread, not in `process`: allocates.
 * @param samples as much of the lead as `leadHeard` says, where it exists, then the body as far as it is known.
 * @param line where in them the body begins.
 */
export const hearOpening = (
  samples: Float32Array,
  line: number,
  beatFrames: Frames,
  rate: SampleRate,
): HeardOpening => ({ heard: listenAtStart(samples, line, beatFrames, rate), lead: line, beatFrames, rate });

/** @param bodyLevel root mean square of the body as far as it is known, linear. */
export function openingSeam({ heard, lead, beatFrames, rate }: HeardOpening, bodyLevel: number): Seam {
  return decideSeam({
    rate,
    beatFrames,
    lead,
    tail: 0,
    startOnsets: heard.onsets.filter((onset) => isNote(onset, bodyLevel)).map(({ frame }) => frame),
    endOnsets: [],
    leadLevel: heard.leadLevel,
    startLevel: heard.startLevel,
    endLevel: bodyLevel,
    tailLevels: [],
    tailHop: 1,
    correlation: 0,
    playedOn: true,
    pickupMarked: false,
  });
}
