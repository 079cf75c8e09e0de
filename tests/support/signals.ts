/** What a scripted player plays: deterministic, and different at every place, so that an alignment is unmistakable. */

/** Noise that depends on the frame alone, −1 … 1. */
export function noiseAt(frame: number, seed = 1): number {
  let x = (Math.imul(frame | 0, 0x9e3779b1) ^ Math.imul(seed, 0x85ebca6b)) >>> 0;
  x ^= x >>> 16;
  x = Math.imul(x, 0x7feb352d) >>> 0;
  x ^= x >>> 15;
  x = Math.imul(x, 0x846ca68b) >>> 0;
  x ^= x >>> 16;
  return Math.fround((x >>> 0) / 2_147_483_648 - 1);
}

/** A struck note at each onset: noise with a decay, `level` at its first frame. Onsets in ascending order. */
export function strokes(onsets: readonly number[], { level = 0.3, decay = 2000, seed = 1 } = {}) {
  return (frame: number): number => {
    let low = 0;
    let high = onsets.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if ((onsets[middle] ?? 0) <= frame) low = middle + 1;
      else high = middle;
    }
    const onset = onsets[low - 1];
    if (onset === undefined) return 0;
    const into = frame - onset;
    if (into > 8 * decay) return 0;
    const sample = into === 0 ? level : level * Math.exp(-into / decay) * noiseAt(into, seed);
    return Math.fround(sample);
  };
}

/** The greatest step between neighbours in [from, to). */
export function largestStep(samples: Float32Array, from: number, to: number): number {
  let largest = 0;
  for (let i = from + 1; i < to; i++) largest = Math.max(largest, Math.abs((samples[i] ?? 0) - (samples[i - 1] ?? 0)));
  return largest;
}

/** Index of the first sample that differs; −1 where all are the same to the bit and both are of one length. */
export function firstDifference(a: Float32Array, b: Float32Array): number {
  const length = Math.max(a.length, b.length);
  for (let i = 0; i < length; i++) if (a[i] !== b[i]) return i;
  return -1;
}
