/** What a seam is, to the player and to the engine. */
import type { Frames } from '../units/index.js';
import { frames } from '../units/index.js';

/** What the player is shown. A layer may ring on under an early attack or a pickup too: its tail then says so. */
export type SeamKind = 'crossfade' | 'early-attack' | 'pickup' | 'let-ring';

/**
 * One mechanism for all kinds. An iteration whose body lies on [start, end) sounds on
 * [start − leadFrames, end + tailFrames); its first `fadeInFrames` rise, its last `fadeOutFrames` fall. A shape is the
 * correlation (0 … 1) to which the fade's curve is matched (crossfade.ts): 1 is a straight line.
 */
export interface Seam {
  readonly kind: SeamKind;
  readonly leadFrames: Frames;
  readonly fadeInFrames: Frames;
  readonly fadeInShape: number;
  /** Negative where the iteration ends before its last line, because the next one replaces its end. */
  readonly tailFrames: Frames;
  readonly fadeOutFrames: Frames;
  readonly fadeOutShape: number;
  /** Whether iterations sound together for longer than their fades. */
  readonly mayOverlap: boolean;
}

/** For audio whose end goes on with its beginning by itself, to the sample: nothing is faded and nothing overlaps. */
export const NO_SEAM: Seam = {
  kind: 'crossfade',
  leadFrames: frames(0),
  fadeInFrames: frames(0),
  fadeInShape: 1,
  tailFrames: frames(0),
  fadeOutFrames: frames(0),
  fadeOutShape: 1,
  mayOverlap: false,
};

/** What was played round the lines of a body, as `listenAtLines` and `correlationAtLines` hear it. */
export interface SeamEvidence {
  /** Frames a second. */
  readonly rate: number;
  readonly beatFrames: number;
  /** Frames that exist before and after the body and belong to the same playing. */
  readonly lead: number;
  readonly tail: number;
  /** Onsets in frames from the line at the body's start and at its end, ascending; negative before it. */
  readonly startOnsets: readonly number[];
  readonly endOnsets: readonly number[];
  /** Root mean squares of the 50 ms before and after the start line and before the end line, linear. */
  readonly leadLevel: number;
  readonly startLevel: number;
  readonly endLevel: number;
  /** From the end line on, one for every `tailHop` frames. */
  readonly tailLevels: readonly number[];
  readonly tailHop: number;
  /** Of the signals before both lines, −1 … 1. */
  readonly correlation: number;
  /** Whether the player went on beyond the end line; null where nobody knows. */
  readonly playedOn: boolean | null;
  readonly pickupMarked: boolean;
}
