/** What stands out of a correlation: the maxima of its absolute value, and how quiet the rest is. */

export interface Peak {
  readonly lag: number;
  /** With its sign: negative where the path inverts. */
  readonly height: number;
}

/** Two maxima nearer to each other than this are one arrival, smeared by the path. */
export const SMEAR_FRAMES = 8;
/** A normal distribution's median of absolute values, in standard deviations. */
const MEDIAN_OF_NORMAL = 0.6745;
/** Enough for a median within 2 %. */
const MOST_SAMPLED = 4096;

export const sizeAt = (correlation: Float64Array, lag: number): number => Math.abs(correlation[lag] ?? 0);

/** The greatest absolute value at lags from `from` up to, not including, `to`; 0 where there is none. */
export function highestIn(correlation: Float64Array, from: number, to: number): number {
  let highest = 0;
  const end = Math.min(to, correlation.length);
  for (let lag = Math.max(0, from); lag < end; lag++) highest = Math.max(highest, sizeAt(correlation, lag));
  return highest;
}

/**
 * Where the first arrival is: from the first lag whose value is above half the highest, up its slope to the top. In
 * trials this found the same frame as a click through the same path, also where loudspeaker and microphone smear the
 * arrival; the highest of the next frames took a near reflection for it, and a correlation whitened to its phase alone
 * (Knapp and Carter 1976) wandered by one to four frames wherever a band was missing.
 */
export function firstArrival(correlation: Float64Array): Peak {
  const half = highestIn(correlation, 0, correlation.length) / 2;
  let lag = 0;
  while (lag < correlation.length - 1 && sizeAt(correlation, lag) < half) lag++;
  while (lag < correlation.length - 1 && sizeAt(correlation, lag + 1) > sizeAt(correlation, lag)) lag++;
  return { lag, height: correlation[lag] ?? 0 };
}

/** The standard deviation of what does not stand out, from the median of the absolute values: of a sample of them. */
export function floorOf(correlation: Float64Array): number {
  const stride = Math.ceil(correlation.length / MOST_SAMPLED);
  const count = Math.ceil(correlation.length / Math.max(1, stride));
  const sizes = Float64Array.from({ length: count }, (_, i) => sizeAt(correlation, i * stride)).sort();
  return (sizes[sizes.length >> 1] ?? 0) / MEDIAN_OF_NORMAL;
}

/** The highest maxima, at least `least` high and more than a smear apart, at most `most`; in the order of their lags. */
export function peaksAbove(correlation: Float64Array, least: number, most: number): readonly Peak[] {
  const tops: Peak[] = [];
  for (let lag = 0; lag < correlation.length; lag++) {
    const size = sizeAt(correlation, lag);
    if (size >= least && size > highestIn(correlation, lag - SMEAR_FRAMES, lag)) {
      if (size >= highestIn(correlation, lag + 1, lag + SMEAR_FRAMES + 1))
        tops.push({ lag, height: correlation[lag] ?? 0 });
    }
  }
  return tops
    .sort((a, b) => Math.abs(b.height) - Math.abs(a.height))
    .slice(0, most)
    .sort((a, b) => a.lag - b.lag);
}
