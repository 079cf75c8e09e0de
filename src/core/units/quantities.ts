/**
 * Branded quantities. A bare number never says whether it counts frames, seconds or bars; these types do, and the
 * compiler keeps them apart. The casts live in this folder alone.
 */
declare const unit: unique symbol;
type Quantity<Name extends string> = number & { readonly [unit]: Name };

/** Samples of one channel, a whole number; may be negative where a position lies before an origin. */
export type Frames = Quantity<'frames'>;
export type Seconds = Quantity<'seconds'>;
export type Milliseconds = Quantity<'milliseconds'>;
/** Whole bars, as a count or as the number of a bar line (line 0 opens the first bar). */
export type Bars = Quantity<'bars'>;
/** Beats a minute, of whatever note value the mark names. */
export type Bpm = Quantity<'bpm'>;
/** Frames a second. */
export type SampleRate = Quantity<'sample rate'>;
export type Decibels = Quantity<'decibels'>;
/** Linear amplitude factor. */
export type Gain = Quantity<'gain'>;

/** A programmer's mistake: states what came and what was expected. */
export class QuantityError extends RangeError {
  override readonly name = 'QuantityError';
}

function whole(value: number, what: string): number {
  if (!Number.isSafeInteger(value)) throw new QuantityError(`Got ${value} ${what} when expected a whole number.`);
  return value;
}

function finite(value: number, what: string): number {
  if (!Number.isFinite(value)) throw new QuantityError(`Got ${value} ${what} when expected a finite number.`);
  return value;
}

function positive(value: number, what: string): number {
  if (!(value > 0) || !Number.isFinite(value)) {
    throw new QuantityError(`Got ${value} ${what} when expected a finite number above zero.`);
  }
  return value;
}

/** @throws {QuantityError} unless `value` is a safe integer. */
export const frames = (value: number): Frames => whole(value, 'frames') as Frames;
/** Nearest whole frame, halves upwards (towards +∞), so that rounding commutes with whole-frame shifts. */
export const nearestFrame = (value: number): Frames => frames(Math.floor(value + 0.5));
/** @throws {QuantityError} unless finite. */
export const seconds = (value: number): Seconds => finite(value, 'seconds') as Seconds;
/** @throws {QuantityError} unless finite. */
export const milliseconds = (value: number): Milliseconds => finite(value, 'milliseconds') as Milliseconds;
/** @throws {QuantityError} unless a safe integer. */
export const bars = (value: number): Bars => whole(value, 'bars') as Bars;
/** @throws {QuantityError} unless finite and above zero. */
export const bpm = (value: number): Bpm => positive(value, 'beats a minute') as Bpm;
/** @throws {QuantityError} unless finite and above zero. */
export const sampleRate = (value: number): SampleRate => positive(value, 'frames a second') as SampleRate;
/** −∞ is silence and allowed. @throws {QuantityError} for NaN and +∞. */
export const decibels = (value: number): Decibels => {
  if (Number.isNaN(value) || value === Infinity) {
    throw new QuantityError(`Got ${value} decibels when expected a number below infinity.`);
  }
  return value as Decibels;
};
/** @throws {QuantityError} unless finite. */
export const gain = (value: number): Gain => finite(value, 'gain') as Gain;
