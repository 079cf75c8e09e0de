/** What a seam says, played: the plainest possible sum of iterations, as a reference. */
import { crossfadeTables } from '../../src/core/seam/crossfade.js';
import type { Seam } from '../../src/core/seam/seam.js';
import { frames } from '../../src/core/units/index.js';

/**
 * The body [bodyStart, bodyStart + bodyFrames) of `samples`, `rounds` times in a row. Frame 0 of the result is the first
 * line; the first lead is left out and nothing rings over the first round.
 */
export function playLoop(
  samples: Float32Array,
  bodyStart: number,
  bodyFrames: number,
  seam: Seam,
  rounds: number,
): Float64Array {
  const out = new Float64Array(rounds * bodyFrames);
  const { fadeIn } = crossfadeTables(frames(seam.fadeInFrames), seam.fadeInShape);
  const { fadeOut } = crossfadeTables(frames(seam.fadeOutFrames), seam.fadeOutShape);
  const from = -seam.leadFrames;
  const to = bodyFrames + seam.tailFrames;
  for (let round = 0; round < rounds; round++) {
    for (let i = from; i < to; i++) {
      const rise = i < from + fadeIn.length ? (fadeIn[i - from] ?? NaN) : 1;
      const fall = i >= to - fadeOut.length ? (fadeOut[i - to + fadeOut.length] ?? NaN) : 1;
      const at = round * bodyFrames + i;
      if (at >= 0 && at < out.length) out[at] = (out[at] ?? 0) + (samples[bodyStart + i] ?? 0) * rise * fall;
    }
  }
  return out;
}
