/** Reads the click off what was rendered: where each knock begins, and how heavy it is. */

export interface Heard {
  readonly at: number;
  readonly level: number;
}

/**
 * Knocks in samples that hold nothing else: a knock begins where sound follows silence of at least a millisecond, and its
 * level is the highest sample up to the next silence.
 */
export function knocksIn(samples: Float32Array | Float64Array, rate: number): readonly Heard[] {
  const silence = Math.round(rate / 1000);
  const heard: { at: number; level: number }[] = [];
  let quiet = silence;
  for (let i = 0; i < samples.length; i++) {
    const size = Math.abs(samples[i] ?? 0);
    if (size === 0) {
      quiet++;
      continue;
    }
    const last = heard.at(-1);
    if (quiet >= silence || last === undefined) heard.push({ at: i, level: size });
    else if (size > last.level) last.level = size;
    quiet = 0;
  }
  return heard;
}
