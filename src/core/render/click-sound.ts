/**
 * The click: a short, dark, unpitched knock, so that it neither sings against the music nor cuts through headphones
 * into the microphone. Made of sums and products alone, so that every machine makes the same samples.
 */
import type { SampleRate } from '../units/index.js';

const LENGTH_MS = 25;
/** Corner of the two one-pole low-passes: own choice, dark without being dull in small headphones. */
const CORNER_HZ = 1400;
const ATTACK_MS = 0.5;
/** Time for the burst to fall to 1/e. */
const DECAY_MS = 4;

/** Mono samples with a peak of 1; the first sample is the onset. */
export function clickSound(rate: SampleRate): Float32Array {
  const length = Math.round((LENGTH_MS / 1000) * rate);
  const attack = Math.max(1, Math.round((ATTACK_MS / 1000) * rate));
  const fall = 1 - 1000 / (DECAY_MS * rate);
  const smooth = (2 * CORNER_HZ) / (rate + 2 * CORNER_HZ);
  const out = new Float32Array(length);
  let seed = 20_011;
  let level = 1;
  let once = 0;
  let twice = 0;
  let peak = 0;
  for (let i = 0; i < length; i++) {
    seed = (seed * 16_807) % 2_147_483_647;
    const noise = seed / 1_073_741_823.5 - 1;
    once += smooth * (noise - once);
    twice += smooth * (once - twice);
    const left = (length - i) / length;
    out[i] = twice * level * Math.min(1, (i + 1) / attack) * Math.min(1, 4 * left);
    peak = Math.max(peak, Math.abs(out[i] ?? 0));
    level *= fall;
  }
  for (let i = 0; i < length; i++) out[i] = (out[i] ?? 0) / peak;
  return out;
}
