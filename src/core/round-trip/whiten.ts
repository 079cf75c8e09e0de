/** Takes the colour out of a pair of signals, so that every band has its say. */
import { solveToeplitz } from './toeplitz.js';

const PREDICTOR_TAPS = 32;
/** Bands more than 40 dB under the rest are left as they are: only noise of the take would be in them. */
const FLOOR = 1e-4;

/**
 * Both signals less what the first's last 32 samples predict of the next (linear prediction, autocorrelation method;
 * Makhoul, Proceedings of the IEEE 1975; from memory). The same filter for both: how one follows from the other stays.
 */
export function whitened(first: Float32Array, second: Float32Array): readonly [Float32Array, Float32Array] {
  const correlation = Float64Array.from({ length: PREDICTOR_TAPS + 1 }, (_, lag) => {
    let sum = 0;
    for (let i = lag; i < first.length; i++) sum += (first[i] ?? 0) * (first[i - lag] ?? 0);
    return lag === 0 ? sum * (1 + FLOOR) : sum;
  });
  const predictor = solveToeplitz(correlation, correlation.subarray(1));
  return [withoutPrediction(first, predictor), withoutPrediction(second, predictor)];
}

function withoutPrediction(samples: Float32Array, predictor: Float64Array): Float32Array {
  const rest = new Float32Array(samples.length);
  for (let i = 0; i < samples.length; i++) {
    const known = Math.min(i, predictor.length);
    let value = samples[i] ?? 0;
    for (let k = 0; k < known; k++) value -= (predictor[k] ?? 0) * (samples[i - 1 - k] ?? 0);
    rest[i] = value;
  }
  return rest;
}
