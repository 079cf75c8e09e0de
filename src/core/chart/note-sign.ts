/** A note value as it is written: a note and its dots, or several of them tied. */
import type { NoteValue, PulseValue } from '../meter/metre.js';

export interface WrittenNote {
  /** 4 is a quarter note. */
  readonly base: PulseValue;
  readonly dots: 0 | 1;
}

/**
 * The notes of a value, longest first, to be tied where there is more than one: 3/8 is a dotted quarter, 5/8 a half tied
 * to an eighth.
 */
export function writtenNotes({ num, den }: NoteValue): readonly WrittenNote[] {
  const notes: WrittenNote[] = [];
  let left = num;
  while (left > 0) {
    // Nothing longer than a whole note is written as one.
    const power = Math.min(2 ** Math.floor(Math.log2(left)), den);
    const base = (den / power) as PulseValue;
    const half = power / 2;
    const dotted = half >= 1 && left - power >= half;
    notes.push({ base, dots: dotted ? 1 : 0 });
    left -= dotted ? power + half : power;
  }
  return notes;
}
