/** How alike the two sides of a seam are. */
import type { Frames, SampleRate } from '../units/index.js';
import { addFrames, QuantityError } from '../units/index.js';

const WINDOW_SECONDS = 0.05;

/**
 * Normalised correlation at lag zero, Σab / √(Σa²·Σb²), in −1 … 1; 0 where either is silent, empty or not finite. Two
 * periods of the lowest note want 50 ms (common practice, no source).
 * @throws {QuantityError} if the two differ in length
 */
export function seamCorrelation(a: Float32Array, b: Float32Array): number {
  if (a.length !== b.length) throw new QuantityError(`Got ${b.length} frames when expected ${a.length}, as many.`);
  let product = 0;
  let powerA = 0;
  let powerB = 0;
  for (let i = 0; i < a.length; i++) {
    const x = a[i] ?? 0;
    const y = b[i] ?? 0;
    product += x * y;
    powerA += x * x;
    powerB += y * y;
  }
  const power = Math.sqrt(powerA) * Math.sqrt(powerB);
  return power > 0 && power < Infinity ? Math.min(1, Math.max(-1, product / power)) : 0;
}

/**
 * The correlation that a body's seam is matched to. The 50 ms end at the line, where the crossfade ends: what follows
 * the line does not take part in it, and an attack on beat one, alike at both lines, would drown what does. Where less
 * than 50 ms of lead exist the window reaches beyond the line instead, as far as there is a tail.
 */
export function correlationAtLines(
  samples: Float32Array,
  body: { readonly bodyStart: Frames; readonly bodyFrames: Frames; readonly lead: Frames; readonly tail: Frames },
  rate: SampleRate,
): number {
  const length = Math.ceil(WINDOW_SECONDS * rate);
  const before = Math.min(length, body.lead);
  const after = Math.min(length - before, body.tail);
  const start: number = body.bodyStart;
  const end: number = addFrames(body.bodyStart, body.bodyFrames);
  return seamCorrelation(samples.subarray(end - before, end + after), samples.subarray(start - before, start + after));
}
