/** The little statistics that reading taps takes. */

/** A straight line through points by least squares. */
export interface Line {
  readonly slope: number;
  /** Sum of squared residuals. */
  readonly squares: number;
  /** Sum of squared distances of the x from their mean; the variance of the slope is σ² over this. */
  readonly leverage: number;
}

/** Needs two different x at least. */
export function leastSquares(xs: readonly number[], ys: readonly number[]): Line {
  const meanX = mean(xs);
  const meanY = mean(ys);
  const dx = xs.map((x) => x - meanX);
  const dy = ys.map((y) => y - meanY);
  const leverage = dot(dx, dx);
  const slope = dot(dx, dy) / leverage;
  const residuals = dy.map((y, i) => y - slope * (dx[i] ?? 0));
  return { slope, squares: dot(residuals, residuals), leverage };
}

/**
 * How many standard errors a 95 % interval reaches to either side with `freedom` ≥ 4 degrees of freedom: Student's t at
 * 97.5 %, within 0.3 % (Abramowitz and Stegun 26.7.5, first three terms after the normal quantile; from memory).
 */
export function studentReach(freedom: number): number {
  const z = 1.959964;
  const first = (z ** 3 + z) / 4;
  const second = (5 * z ** 5 + 16 * z ** 3 + 3 * z) / 96;
  const third = (3 * z ** 7 + 19 * z ** 5 + 17 * z ** 3 - 15 * z) / 384;
  return z + first / freedom + second / freedom ** 2 + third / freedom ** 3;
}

/**
 * Probability that a normal variable lies within `reach` ≥ 0 standard deviations of its mean, to 1.5e-7
 * (Abramowitz and Stegun 7.1.26, from memory).
 */
export function normalWithin(reach: number): number {
  const x = reach / Math.SQRT2;
  const t = 1 / (1 + 0.3275911 * x);
  const polynomial = t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))));
  return 1 - polynomial * Math.exp(-x * x);
}

export const mean = (values: readonly number[]): number => values.reduce((sum, x) => sum + x, 0) / values.length;

const dot = (a: readonly number[], b: readonly number[]): number => a.reduce((sum, x, i) => sum + x * (b[i] ?? 0), 0);
