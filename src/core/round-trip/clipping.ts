/** Whether a capture was too loud for what captured it. */

export interface Clipping {
  /** Frames at full scale. */
  readonly fullScale: number;
  /** Stretches of three frames and more that stand at the highest level there is in the capture. */
  readonly flatTops: number;
}

/** The largest 16-bit value is 0.99997 of full scale; the rest is allowed for gain in the browser. */
const FULL_SCALE = 0.999;
const FLAT = 0.001;
const FLAT_FRAMES = 3;
/** Under −40 dBFS the steps of 16 bits are coarser than that, and nothing clips. */
const LEAST_PEAK = 0.01;

/** A sequence that comes back exactly as it was sent consists of flat tops: whoever knows it came back so, ignores them. */
export function clippingIn(samples: Float32Array): Clipping {
  const peak = samples.reduce((highest, value) => Math.max(highest, Math.abs(value)), 0);
  let [fullScale, flatTops, run] = [0, 0, 0];
  for (let i = 0; i <= samples.length; i++) {
    const value = samples[i] ?? 0;
    if (Math.abs(value) >= FULL_SCALE) fullScale++;
    const isTop = peak >= LEAST_PEAK && Math.abs(value) >= peak * (1 - FLAT);
    const goesOn = isTop && run > 0 && value > 0 === (samples[i - 1] ?? 0) > 0;
    if (!goesOn && run >= FLAT_FRAMES) flatTops++;
    run = isTop ? (goesOn ? run + 1 : 1) : 0;
  }
  return { fullScale, flatTops };
}
