/**
 * Maximum-length sequences: ±1 samples whose circular autocorrelation is 1 at lag 0 and −1/N everywhere else, so that a
 * path's delay stands out of the correlation as one peak, at the least level that any probe needs.
 *
 * Feedback exponents: published tables of linear-feedback shift registers (from memory; every period is counted in the
 * tests). Sequences of one length differ by decimation: every q-th sample, q without a divisor in common with N, is a
 * maximum-length sequence again (Golomb, "Shift Register Sequences", 1967; from memory).
 */
import type { Decibels } from '../units/index.js';
import { gainFromDecibels, QuantityError } from '../units/index.js';

/** Exponents of the feedback polynomial below its highest and above its constant term. */
const FEEDBACK = {
  10: [7],
  11: [9],
  12: [11, 10, 4],
  13: [12, 11, 8],
  14: [13, 12, 2],
  15: [14],
} as const;

/** The length is 2^order − 1: 1,023 to 32,767 frames. */
export type ProbeOrder = keyof typeof FEEDBACK;

/**
 * +1 and −1, 2^order − 1 of them. Each `variant` from 0 on is another sequence of that length: neither a shift nor the
 * mirror image of one before. There are at least 20 of each order.
 * @throws {QuantityError} unless `variant` is a whole number for which there is a sequence
 */
export function maximumLengthSequence(order: ProbeOrder, variant = 0): Int8Array {
  const length = 2 ** order - 1;
  const first = shiftRegister(order);
  const step = decimation(order, variant);
  return first.map((_, i) => first[(i * step) % length] ?? 0);
}

/** The sequence as it is sent: each sample plus or minus the gain of `level`, in dBFS; its crest factor is 1. */
export function probeSignal(sequence: Int8Array, level: Decibels): Float32Array<ArrayBuffer> {
  const amplitude = gainFromDecibels(level);
  return Float32Array.from(sequence, (value) => value * amplitude);
}

function shiftRegister(order: ProbeOrder): Int8Array {
  const taps = [0, ...FEEDBACK[order]];
  const bits = new Uint8Array(2 ** order - 1).fill(1, 0, order);
  // a(n + order) is the sum, modulo 2, of a(n + exponent).
  for (let n = 0; n + order < bits.length; n++) {
    bits[n + order] = taps.reduce((sum, exponent) => sum ^ (bits[n + exponent] ?? 0), 0);
  }
  return Int8Array.from(bits, (bit) => (bit === 1 ? -1 : 1));
}

/** The `variant`-th step: the least of each class { ±q·2^k mod N }, whose members give shifts and mirror images. */
function decimation(order: ProbeOrder, variant: number): number {
  const length = 2 ** order - 1;
  let left = variant;
  for (let step = 1; step < length; step += 2) {
    if (commonDivisor(step, length) === 1 && isLeastOfItsClass(step, order) && left-- === 0) return step;
  }
  throw new QuantityError(`Got variant ${variant} when order ${order} has fewer.`);
}

function isLeastOfItsClass(step: number, order: number): boolean {
  const length = 2 ** order - 1;
  for (let k = 0, member = step; k < order; k++, member = (2 * member) % length) {
    if (member < step || length - member < step) return false;
  }
  return true;
}

const commonDivisor = (a: number, b: number): number => (b === 0 ? a : commonDivisor(b, a % b));
