/** The seam of a pass that has just closed: a crossfade of 10 ms for unrelated sounds, until the page has listened. */
import { crossfadeTables } from '../seam/crossfade.js';
import type { Frames, SampleRate } from '../units/index.js';
import { framesFromSeconds, seconds } from '../units/index.js';

export interface SeamCurves {
  readonly frames: Frames;
  /** The rising table, then the falling one. */
  readonly curves: Float32Array<ArrayBuffer>;
}

const SEAM_SECONDS = seconds(0.01);

export function seamCurves(rate: SampleRate): SeamCurves {
  const length = framesFromSeconds(SEAM_SECONDS, rate);
  const { fadeIn, fadeOut } = crossfadeTables(length, 0);
  const curves = new Float32Array(2 * length);
  curves.set(fadeIn, 0);
  curves.set(fadeOut, length);
  return { frames: length, curves };
}
