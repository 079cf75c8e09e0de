/**
 * Metres as data: how many pulses a bar has, which note value a pulse is, and how pulses group.
 * 4/4 is felt as 1+1+1+1, 6/8 in two as 3+3, 7/8 as 2+2+3 or any other order.
 */
export type PulseValue = 1 | 2 | 4 | 8 | 16 | 32;

export interface Metre {
  /** Pulses in a bar, 1 to 32. */
  readonly num: number;
  /** The note value of a pulse: 4 is a quarter note. */
  readonly den: PulseValue;
  /**
   * Pulses of each group, in order; they add up to `num`. A group is a felt beat; but where the pulse is a quarter or longer
   * and the groups are not all equal, each pulse is a felt beat and a group begins with an accent: 5/4 as 3+2 (metres.ts).
   */
  readonly groups: readonly number[];
}

/** A note value as a fraction of a whole note: a dotted quarter is 3/8. */
export interface NoteValue {
  readonly num: number;
  readonly den: PulseValue;
}
