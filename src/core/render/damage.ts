/**
 * Replaces by silence, in place, what came in and is no finite number, so that it can't be recorded or monitored. Audio
 * thread; allocates nothing.
 * @returns how many samples that were.
 */
export function silenceDamage(input: readonly Float32Array[], count: number): number {
  let damaged = 0;
  for (let c = 0; c < input.length; c++) {
    const samples = input[c];
    if (samples === undefined) continue;
    for (let i = 0; i < count; i++) {
      const sample = samples[i] ?? 0;
      // Only a finite number minus itself is zero.
      if (sample - sample === 0) continue;
      samples[i] = 0;
      damaged++;
    }
  }
  return damaged;
}
