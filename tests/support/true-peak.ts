/**
 * Two true-peak meters that share no code with the limiter's detector: ITU-R BS.1770 Annex 2 with its own printed taps,
 * and a longer one, a sinc under a Blackman window with eight points a sample.
 */

/** ITU-R BS.1770-4/-5 Annex 2, phases 0 and 1 of the 4 × 12 taps; phases 2 and 3 are these reversed. */
const PHASE_0 = [
  0.001708984375, 0.010986328125, -0.0196533203125, 0.033203125, -0.0594482421875, 0.1373291015625, 0.97216796875,
  -0.102294921875, 0.047607421875, -0.026611328125, 0.014892578125, -0.00830078125,
];
const PHASE_1 = [
  -0.0291748046875, 0.029296875, -0.0517578125, 0.089111328125, -0.16650390625, 0.465087890625, 0.77978515625,
  -0.2003173828125, 0.1015625, -0.0582275390625, 0.0330810546875, -0.0189208984375,
];
const ANNEX_2 = [PHASE_0, PHASE_1, PHASE_1.toReversed(), PHASE_0.toReversed()];

const LONG_TAPS = 64;
const LONG_PHASES = 8;
const LONG = longPhases();

export const decibelsOf = (amplitude: number): number => 20 * Math.log10(amplitude);

/** dBTP as the standard's meter reads it; silence before and after the samples. */
export const annex2Peak = (samples: Float32Array): number => decibelsOf(highest(samples, ANNEX_2));

/** dBTP as a meter of 64 taps and eight points a sample reads it; silence before and after the samples. */
export const longPeak = (samples: Float32Array): number => decibelsOf(highest(samples, LONG));

function longPhases(): number[][] {
  return Array.from({ length: LONG_PHASES }, (_, phase) =>
    Array.from({ length: LONG_TAPS }, (_unused, k) => {
      const t = k - (LONG_TAPS / 2 - 1) - phase / LONG_PHASES;
      const u = (t / (LONG_TAPS / 2) + 1) / 2;
      const window = 0.42 - 0.5 * Math.cos(2 * Math.PI * u) + 0.08 * Math.cos(4 * Math.PI * u);
      return window * (t === 0 ? 1 : Math.sin(Math.PI * t) / (Math.PI * t));
    }),
  );
}

function highest(samples: Float32Array, phases: readonly (readonly number[])[]): number {
  const taps = phases[0]?.length ?? 0;
  const padded = new Float64Array(samples.length + 2 * taps);
  padded.set(samples, taps);
  let peak = 0;
  for (let n = 0; n + taps <= padded.length; n++) {
    for (const phase of phases) {
      let sum = 0;
      for (let k = 0; k < taps; k++) sum += (phase[k] ?? 0) * (padded[n + k] ?? 0);
      peak = Math.max(peak, Math.abs(sum));
    }
  }
  return peak;
}
