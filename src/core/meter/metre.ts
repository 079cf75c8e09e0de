/**
 * Metres as data: how many pulses a bar has, which note value a pulse is, and how pulses group into felt beats.
 * 4/4 is felt as 1+1+1+1, 6/8 in two as 3+3, 7/8 as 2+2+3 or any other order.
 */
export type PulseValue = 1 | 2 | 4 | 8 | 16 | 32;

export interface Metre {
  /** Pulses in a bar, 1 to 32. */
  readonly num: number;
  /** The note value of a pulse: 4 is a quarter note. */
  readonly den: PulseValue;
  /** Pulses of each felt beat, in order; they add up to `num`. */
  readonly groups: readonly number[];
}

/** A note value as a fraction of a whole note: a dotted quarter is 3/8. */
export interface NoteValue {
  readonly num: number;
  readonly den: PulseValue;
}
