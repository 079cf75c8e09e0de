/** What the audio thread sees of the input besides the music, as data. */
import type { PathShift } from '../watch/observations.js';
import type { Frames } from '../units/index.js';

/**
 * Frames that were counted where they were captured have got their numbers: the capture frame of what the engine's own
 * input brings in engine frame n is n where both ways agreed, and near it where there was only silence to compare.
 */
export interface CaptureSettled {
  readonly type: 'capture-settled';
  /** Engine frame. */
  readonly at: Frames;
  readonly agreed: boolean;
}

export type EngineObservation = CaptureSettled | PathShift;
