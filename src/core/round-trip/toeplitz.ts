/** Symmetric Toeplitz systems: what least squares with a filter comes down to. */

/**
 * Solves Σ_j r[|i − j|]·x[j] = b[i] for as many unknowns as `b` has values, by Levinson's recursion (Golub and Van Loan,
 * "Matrix Computations", algorithm 4.7.2; from memory), in n² steps. `r[0]` must be above zero and the matrix positive
 * definite; of a matrix that rounding has spoilt, the unknowns it stopped at are 0.
 */
export function solveToeplitz(r: ArrayLike<number>, b: ArrayLike<number>): Float64Array {
  const count = b.length;
  const x = new Float64Array(count);
  const scale = r[0] ?? 0;
  if (count === 0 || !(scale > 0)) return x;
  const row = (lag: number): number => (r[lag] ?? 0) / scale;
  // The predictor of the first k values from each other, and what it leaves.
  let predictor = new Float64Array(count);
  let previous = new Float64Array(count);
  x[0] = (b[0] ?? 0) / scale;
  let left = 1;
  let reflection = -row(1);
  predictor[0] = reflection;
  for (let k = 1; k < count; k++) {
    left *= 1 - reflection * reflection;
    if (!(left > 0)) break;
    let error = (b[k] ?? 0) / scale;
    for (let i = 0; i < k; i++) error -= row(i + 1) * (x[k - 1 - i] ?? 0);
    const step = error / left;
    for (let i = 0; i < k; i++) x[i] = (x[i] ?? 0) + step * (predictor[k - 1 - i] ?? 0);
    x[k] = step;
    if (k === count - 1) break;
    let next = row(k + 1);
    for (let i = 0; i < k; i++) next += row(i + 1) * (predictor[k - 1 - i] ?? 0);
    reflection = -next / left;
    [previous, predictor] = [predictor, previous];
    for (let i = 0; i < k; i++) predictor[i] = (previous[i] ?? 0) + reflection * (previous[k - 1 - i] ?? 0);
    predictor[k] = reflection;
  }
  return x;
}

/** Σ_ij a[i]·r[|i − j|]·b[j]: the product's energy if both filters run over a signal whose autocorrelation is `r`. */
export function toeplitzProduct(a: Float64Array, r: ArrayLike<number>, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) {
    let inner = 0;
    for (let j = 0; j < b.length; j++) inner += (r[Math.abs(i - j)] ?? 0) * (b[j] ?? 0);
    sum += (a[i] ?? 0) * inner;
  }
  return sum;
}
