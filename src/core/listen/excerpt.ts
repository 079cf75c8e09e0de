/** A stretch of a recording, listened to: where notes begin in it, and how much is new at every moment. */
import type { Frames, SampleRate } from '../units/index.js';
import { frames } from '../units/index.js';
import type { Novelty } from './novelty.js';
import { noveltyOf } from './novelty.js';
import { findOnsets } from './onsets.js';

export interface HeardExcerpt {
  /** Frame of its first sample in the recording. */
  readonly at: Frames;
  readonly samples: Float32Array;
  /** In ascending order, in frames of the recording. */
  readonly onsets: readonly Frames[];
  /** In frames of the excerpt. */
  readonly novelty: Novelty;
}

/** Any thread, not in `process`: about 20 ms for a second of sound. */
export const listenTo = (samples: Float32Array, at: Frames, rate: SampleRate): HeardExcerpt => ({
  at,
  samples,
  onsets: findOnsets(samples, rate).map(({ frame }) => frames(at + frame)),
  novelty: noveltyOf(samples, rate),
});
