/**
 * Where exactly a sound begins, once it is known to begin hereabouts: the first sample that stands out from what was
 * there, and from it back down the envelope to the foot of the rise.
 */
import type { SampleRate } from '../units/index.js';

/** Where the foot can lie, seen from the middle of the window in which something was new. */
const EARLIEST_SECONDS = 0.012;
const LATEST_SECONDS = 0.016;
/** How long before that the old is looked at: a period of the lowest notes. */
const BEFORE_SECONDS = 0.024;
/** Own choices, by trial. A sample stands out above this multiple of the old's peak, and this far to the new's peak. */
const STANDS_OUT = 1.2;
const RISE = 0.2;
/** The foot is where the envelope, a mean over half a millisecond, is under this multiple of the old's mean… */
const FOOT = 1.5;
const ENVELOPE_SECONDS = 0.0005;
/** …but no farther back than this. */
const FARTHEST_BACK_SECONDS = 0.004;

/** How loud a signal is at a frame: its magnitude, or that of its slope, in which the attack of a ringing note shows. */
type Loudness = (frame: number) => number;

/** @returns a whole frame within 12 ms before and 16 ms after `about`. */
export function refineOnset(samples: Float32Array, about: number, rate: SampleRate): number {
  const size: Loudness = (i) => Math.abs(samples[i] ?? 0);
  const slope: Loudness = (i) => Math.abs((samples[i] ?? 0) - (samples[i - 1] ?? samples[i] ?? 0));
  const from = Math.max(0, Math.round(about - EARLIEST_SECONDS * rate));
  const to = Math.min(samples.length, Math.round(about + LATEST_SECONDS * rate));
  const bySize = riseIn(size, from, to, rate);
  const bySlope = riseIn(slope, from, to, rate);
  return bySlope.contrast > bySize.contrast ? bySlope.foot : bySize.foot;
}

function riseIn(loudness: Loudness, from: number, to: number, rate: number): { foot: number; contrast: number } {
  const before = Math.max(0, Math.round(from - BEFORE_SECONDS * rate));
  let oldPeak = 0;
  let oldSum = 0;
  for (let i = before; i < from; i++) {
    oldPeak = Math.max(oldPeak, loudness(i));
    oldSum += loudness(i);
  }
  let peak = 0;
  for (let i = from; i < to; i++) peak = Math.max(peak, loudness(i));
  // At the latest at the peak itself, should it not stand out.
  const threshold = Math.min(Math.max(oldPeak * STANDS_OUT, oldPeak + RISE * (peak - oldPeak)), peak);
  let frame = from;
  while (frame < to - 1 && loudness(frame) < threshold) frame++;
  const earliest = Math.max(from, frame - Math.round(FARTHEST_BACK_SECONDS * rate));
  const foot = footBefore(loudness, frame, earliest, (FOOT * oldSum) / Math.max(1, from - before), rate);
  return { foot, contrast: oldPeak === 0 ? Infinity : peak / oldPeak };
}

function footBefore(loudness: Loudness, from: number, earliest: number, level: number, rate: number): number {
  const width = Math.max(1, Math.round(ENVELOPE_SECONDS * rate));
  let sum = 0;
  for (let i = from - width; i < from; i++) sum += loudness(i);
  let foot = from;
  while (foot > earliest && sum > level * width) {
    foot--;
    sum += loudness(foot - width) - loudness(foot);
  }
  return foot;
}
