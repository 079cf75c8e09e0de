/** Timing as ratios: two or more jobs interleaved in one run, the median of each with its spread. */

export interface Timing {
  /** Median, ms. */
  readonly median: number;
  /** Half the distance between the quartiles, as a part of the median. */
  readonly spread: number;
}

/** Runs every job once to warm up, then all of them in turn `rounds` times. */
export function interleaved(rounds: number, jobs: readonly (() => void)[]): readonly Timing[] {
  for (const job of jobs) job();
  const times = jobs.map((): number[] => []);
  for (let round = 0; round < rounds; round++) {
    jobs.forEach((job, i) => {
      const begun = performance.now();
      job();
      times[i]?.push(performance.now() - begun);
    });
  }
  return times.map(timingOf);
}

export function timingOf(times: readonly number[]): Timing {
  const sorted = [...times].sort((a, b) => a - b);
  const at = (part: number): number => sorted[Math.min(sorted.length - 1, Math.floor(part * sorted.length))] ?? 0;
  return { median: at(0.5), spread: (at(0.75) - at(0.25)) / 2 / at(0.5) };
}

export const percent = (part: number): string => `${(100 * part).toFixed(1)} %`;

/** One line of the table. */
export interface Row {
  readonly what: string;
  readonly baseline: string;
  readonly seen: string;
  readonly target: string;
  readonly met: boolean | null;
}
