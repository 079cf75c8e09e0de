/**
 * How alike two stretches of sound are at every shift: normalised correlation, of samples and of curves. Any thread, not
 * in `process`: allocates.
 */

export interface Match {
  /** Shift in samples (or values) at which the two are most alike. */
  readonly shift: number;
  /** −1 … 1: 1 where one is a multiple of the other; 0 where either is silent. */
  readonly likeness: number;
}

/** No likeness to speak of. */
const NOTHING: Match = { shift: 0, likeness: 0 };
/** A coarse search needs no more samples a second than this: what is above is not to be heard. */
const COARSE_RATE = 44_000;
/** Shifts on both sides of the coarse best that are looked at sample by sample, in coarse samples. */
const FINE_REACH = 2;

/**
 * The likeness of `pattern` to `sound[shift …]` for each shift from 0 on at which `sound` covers it: Pearson's
 * correlation, so neither level nor offset matters. Empty for a pattern longer than the sound.
 */
export function likenesses(pattern: ArrayLike<number>, sound: ArrayLike<number>): Float64Array {
  const count = pattern.length;
  const shifts = Math.max(0, sound.length - count + 1);
  const mean = sumOf(pattern, 0, count) / Math.max(1, count);
  const centred = Float64Array.from(pattern, (value) => value - mean);
  const energy = centred.reduce((sum, value) => sum + value * value, 0);
  const out = new Float64Array(shifts);
  for (let shift = 0; shift < shifts; shift++) {
    let product = 0;
    let sum = 0;
    let square = 0;
    for (let i = 0; i < count; i++) {
      const value = sound[shift + i] ?? 0;
      product += (centred[i] ?? 0) * value;
      sum += value;
      square += value * value;
    }
    const spread = square - (sum * sum) / count;
    // Rounding leaves a silent stretch with a spread of about 1e-16 of its square.
    const alive = energy > 0 && spread > 1e-12 * square;
    out[shift] = alive ? product / Math.sqrt(energy * spread) : 0;
  }
  return out;
}

/**
 * Where a pattern of samples is most alike to a sound, to the sample, for shifts `from` to `to`: first coarsely over all
 * of them, then sample by sample about the best. Slopes are compared, not samples: two notes of one pitch are always
 * alike in their lowest partial, and only the same sound is in the others.
 */
export function matchSamples(
  pattern: Float32Array,
  sound: Float32Array,
  rate: number,
  from: number,
  to: number,
): Match {
  const fold = Math.max(1, Math.floor(rate / COARSE_RATE));
  const first = Math.max(0, Math.floor(from));
  const last = Math.min(Math.ceil(to), sound.length - pattern.length);
  if (last < first || pattern.length < 2 * fold) return NOTHING;
  const wanted = slopesOf(pattern);
  const stretch = slopesOf(sound.subarray(first, last + pattern.length));
  if (fold === 1) return bestOf(likenesses(wanted, stretch), first);
  const about = fold * bestOf(likenesses(folded(wanted, fold), folded(stretch, fold)), 0).shift;
  const reach = FINE_REACH * fold;
  const fineFirst = Math.max(0, about - reach);
  const fineLast = Math.min(last - first, about + reach);
  return bestOf(likenesses(wanted, stretch.subarray(fineFirst, fineLast + wanted.length)), first + fineFirst);
}

/** Local maxima of a curve of likenesses, highest first, each with its place between values by a parabola. */
export function peaksOf(curve: Float64Array): readonly Match[] {
  const peaks: Match[] = [];
  for (let i = 0; i < curve.length; i++) {
    const here = curve[i] ?? 0;
    const before = curve[i - 1] ?? -Infinity;
    const after = curve[i + 1] ?? -Infinity;
    if (here <= 0 || here < before || here <= after) continue;
    const bend = before + after - 2 * here;
    const off = Number.isFinite(bend) && bend < 0 ? (before - after) / (2 * bend) : 0;
    peaks.push({ shift: i + off, likeness: here });
  }
  return peaks.sort((a, b) => b.likeness - a.likeness);
}

/** A curve under a triangle of `reach` values to both sides; what lies outside the curve is 0. */
export function blurred(curve: Float64Array, reach: number): Float64Array {
  return curve.map((_, i) => {
    let sum = 0;
    for (let k = -reach; k <= reach; k++) sum += (curve[i + k] ?? 0) * (1 - Math.abs(k) / (reach + 1));
    return sum / (reach + 1);
  });
}

function bestOf(curve: Float64Array, first: number): Match {
  let best = -1;
  for (let i = 0; i < curve.length; i++) if (best < 0 || (curve[i] ?? 0) > (curve[best] ?? 0)) best = i;
  return best < 0 ? NOTHING : { shift: first + best, likeness: curve[best] ?? 0 };
}

/** One value fewer than samples. */
function slopesOf(samples: Float32Array): Float32Array {
  return Float32Array.from({ length: samples.length - 1 }, (_, i) => (samples[i + 1] ?? 0) - (samples[i] ?? 0));
}

function folded(samples: Float32Array, fold: number): Float32Array {
  return Float32Array.from({ length: Math.floor(samples.length / fold) }, (_, i) => {
    return sumOf(samples, i * fold, (i + 1) * fold) / fold;
  });
}

function sumOf(values: ArrayLike<number>, from: number, to: number): number {
  let sum = 0;
  for (let i = from; i < to; i++) sum += values[i] ?? 0;
  return sum;
}
