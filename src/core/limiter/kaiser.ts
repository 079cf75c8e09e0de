/**
 * Interpolation kernels: the sinc of the sampling theorem under a Kaiser window (Kaiser and Schafer, IEEE Trans. ASSP 28,
 * 1980; the window's formula is from memory). Allocates: for set-up only.
 */

/**
 * The right-hand half of a symmetric kernel that reads a signal half-way between two samples: tap k weighs the two
 * samples that lie k + ½ to the left and to the right. The whole kernel sums to 1, so a constant is read as itself.
 */
export function halfwayTaps(pairs: number, beta: number): Float64Array {
  const taps = Float64Array.from({ length: pairs }, (_, k) => {
    const t = k + 0.5;
    return (Math.sin(Math.PI * t) / (Math.PI * t)) * kaiserWindow(t / pairs, beta);
  });
  const sum = 2 * taps.reduce((total, tap) => total + tap, 0);
  return taps.map((tap) => tap / sum);
}

/** Value at `u` of the window that spans −1 … 1. */
function kaiserWindow(u: number, beta: number): number {
  return besselI0(beta * Math.sqrt(1 - u * u)) / besselI0(beta);
}

/** Modified Bessel function of the first kind, order 0: its power series, exact to a double for arguments up to 20. */
function besselI0(x: number): number {
  let term = 1;
  let sum = 1;
  for (let k = 1; k < 60; k++) {
    term *= (x / (2 * k)) ** 2;
    sum += term;
  }
  return sum;
}
