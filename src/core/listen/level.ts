/** How loud a sound is near a place. */

/**
 * Root mean square of [frame − before, frame + after), linear; what lies outside the samples is left out, and where
 * nothing is left the level is 0.
 */
export function levelAround(samples: Float32Array, frame: number, before: number, after: number): number {
  const from = Math.max(0, frame - before);
  const to = Math.min(samples.length, frame + after);
  let sum = 0;
  for (let i = from; i < to; i++) sum += (samples[i] ?? 0) ** 2;
  return to > from ? Math.sqrt(sum / (to - from)) : 0;
}
