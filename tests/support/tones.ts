/** Test signals made of numbers alone: the same on every machine and in every run. */

/** Uniform numbers −1 … 1, always the same for a seed (mulberry32, public domain; from memory). */
export function seededNoise(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), state | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 2 ** 31 - 1;
  };
}

/** Sample i is `value(i)`, rounded to 32 bits. */
export const signal = (length: number, value: (frame: number) => number): Float32Array<ArrayBuffer> =>
  Float32Array.from({ length }, (_, frame) => value(frame));
