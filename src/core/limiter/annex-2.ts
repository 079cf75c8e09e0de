/**
 * The interpolator of ITU-R BS.1770-4/-5 Annex 2: four points between two samples, from the twelve samples round them.
 * A limiter that is to please a meter must read as that meter does, where it reads high, too.
 */

/** Taps of the first and the second point; k counts outwards, to the left from sample j, to the right from j + 1. */
const FIRST_LEFT = [0.97216796875, -0.102294921875, 0.047607421875, -0.026611328125, 0.014892578125, -0.00830078125];
const FIRST_RIGHT = [0.1373291015625, -0.0594482421875, 0.033203125, -0.0196533203125, 0.010986328125, 0.001708984375];
const SECOND_LEFT = [0.77978515625, -0.2003173828125, 0.1015625, -0.0582275390625, 0.0330810546875, -0.0189208984375];
const SECOND_RIGHT = [0.465087890625, -0.16650390625, 0.089111328125, -0.0517578125, 0.029296875, -0.0291748046875];

/** Highest magnitude of the four points between the samples at entries `at` and `at + 2`; samples lie two entries apart. */
export function annex2Peak(doubled: Float64Array, at: number): number {
  let first = 0;
  let second = 0;
  let third = 0;
  let fourth = 0;
  for (let k = 0; k < FIRST_LEFT.length; k++) {
    const left = doubled[at - 2 * k] ?? 0;
    const right = doubled[at + 2 + 2 * k] ?? 0;
    first += (FIRST_LEFT[k] ?? 0) * left + (FIRST_RIGHT[k] ?? 0) * right;
    second += (SECOND_LEFT[k] ?? 0) * left + (SECOND_RIGHT[k] ?? 0) * right;
    third += (SECOND_RIGHT[k] ?? 0) * left + (SECOND_LEFT[k] ?? 0) * right;
    fourth += (FIRST_RIGHT[k] ?? 0) * left + (FIRST_LEFT[k] ?? 0) * right;
  }
  return Math.max(Math.abs(first), Math.abs(second), Math.abs(third), Math.abs(fourth));
}
