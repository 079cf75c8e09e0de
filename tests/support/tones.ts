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

/**
 * A plucked string as a function of the seconds since the pluck: 14 partials that decay the faster the higher they are,
 * peak about 0.5. Read from a table of `length` seconds; silent before and after.
 */
export function pluckedString(rate: number, hertz: number, decay = 0.15, length = 2): (seconds: number) => number {
  const table = signal(Math.round(length * rate), (i) => {
    let sum = 0;
    for (let k = 1; k <= 14; k++) {
      const envelope = Math.exp((-i / (rate * decay)) * (1 + 0.25 * k)) / k;
      sum += Math.sin((2 * Math.PI * hertz * k * i) / rate + k * k) * envelope;
    }
    return 0.3 * sum * Math.min(1, i / (0.0005 * rate));
  });
  return (seconds) => table[Math.round(seconds * rate)] ?? 0;
}
