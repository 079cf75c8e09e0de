/**
 * Which metre, how it is felt, and which note value its tempo counts.
 *
 * A group of pulses is a felt beat: 6/8 as 3+3 is felt in two, 7/8 as 2+2+3 in three uneven beats, 3/4 as one group of 3
 * in one. There is one exception, so that groups alone can say both "every quarter is a beat" and "3+2": where the pulse
 * is a quarter note or longer and the groups are not all equal, every pulse is a felt beat and the groups are accents.
 * 5/4 as 3+2 thus has five beats with accents on the first and the fourth, 5/4 as 1+1+1+1+1 five beats with one accent;
 * who wants two uneven beats writes 5/8. Defaults are common practice, no source.
 */
import { failure, success, type Result } from '../result/result.js';
import { QuantityError } from '../units/index.js';
import type { Metre, NoteValue, PulseValue } from './metre.js';

/** A metre and the note value that its tempo counts unless the player says otherwise. */
export interface MarkedMetre {
  readonly metre: Metre;
  readonly mark: NoteValue;
}

/** `bar` opens the bar, `group` opens a later group inside a bar of evenly counted pulses. */
export type Accent = 'bar' | 'group' | 'none';

export interface FeltBeat {
  /** Pulse at which it starts, from 0. */
  readonly start: number;
  /** Its length in pulses. */
  readonly pulses: number;
  readonly accent: Accent;
}

export const PULSE_VALUES: readonly PulseValue[] = [1, 2, 4, 8, 16, 32];
export const MOST_PULSES = 32;

/** The mask of felt beats is kept in the 31 bits that bit operations leave free of the sign. */
const MASK_LIMIT = 2 ** 31;
const QUARTER: NoteValue = { num: 1, den: 4 };

export const isPulseValue = (value: number): value is PulseValue => PULSE_VALUES.includes(value as PulseValue);

/**
 * How a metre is felt unless the player says otherwise: up to four pulses, or pulses of a quarter or longer, are beats
 * themselves; eighths and shorter go in threes (6/8, 9/8, 12/8: the mark is dotted) or, where three does not divide them,
 * in as many threes as possible and one two at the end (5/8 3+2, 8/8 3+3+2) or two twos at the start (7/8 2+2+3,
 * 10/8 2+2+3+3): the mark is the pulse.
 * @throws {QuantityError} unless `num` is a whole number from 1 to 32.
 */
export function defaultMetre(num: number, den: PulseValue): MarkedMetre {
  if (!isPulseCount(num)) throw new QuantityError(`Got ${num} pulses when expected a whole number from 1 to 32.`);
  const metre = { num, den, groups: defaultGroups(num, den) };
  return { metre, mark: defaultMark(metre) };
}

/** Passes a metre of 1 to 32 pulses whose groups are whole, add up, and whose felt beats fit in 31 bits (`beatMask`). */
export function checkMetre(metre: Metre): Result<Metre, 'metre-out-of-range'> {
  const { num, den, groups } = metre;
  const whole = isPulseCount(num) && isPulseValue(den) && groups.every(isPulseCount);
  const fits = whole && sum(groups) === num && beatMask(metre) < MASK_LIMIT;
  return fits ? success(metre) : failure('metre-out-of-range');
}

/**
 * Reads "2+2+3", spaces allowed. The groups are whole numbers from 1 on and add up to at most 32.
 * @example parseGroups('2+2+3') // { ok: true, value: [2, 2, 3] }
 */
export function parseGroups(text: string): Result<readonly number[], 'groups-unreadable'> {
  const parts = text.split('+').map((part) => part.trim());
  if (!parts.every((part) => /^[0-9]{1,2}$/.test(part))) return failure('groups-unreadable');
  const groups = parts.map(Number);
  return groups.every(isPulseCount) && sum(groups) <= MOST_PULSES ? success(groups) : failure('groups-unreadable');
}

/** The felt beats in order (see the header); they fill the bar. */
export function feltBeats(metre: Metre): readonly FeltBeat[] {
  const opens = groupStarts(metre.groups);
  if (!groupsAreAccents(metre)) {
    return metre.groups.map((pulses, i) => ({ start: opens[i] ?? 0, pulses, accent: i === 0 ? 'bar' : 'none' }));
  }
  return Array.from({ length: metre.num }, (_, start) => ({
    start,
    pulses: 1,
    accent: start === 0 ? 'bar' : opens.includes(start) ? 'group' : 'none',
  }));
}

/** Bit j is set where pulse j opens a felt beat; bit 0 always is. Below 2³¹ for every metre that `checkMetre` passes. */
export const beatMask = (metre: Metre): number => sum(feltBeats(metre).map((beat) => 2 ** beat.start));

/**
 * Note values that a tempo in this metre may count, the usual one first: then the lengths of its felt beats, the pulse, the
 * quarter, and in metres whose pulses are the beats two or three of them (where the bar is a whole number of those) and
 * half of one. Only values that a single plain or dotted note can show.
 * @example markChoices(defaultMetre(7, 8).metre) // 1/8, 1/4, 3/8
 */
export function markChoices(metre: Metre): readonly [NoteValue, ...NoteValue[]] {
  const usual = defaultMark(metre);
  const lengths = feltBeats(metre).map((beat) => beat.pulses);
  const wider = lengths.every((length) => length === 1) ? [2, 3, 0.5].filter((n) => n < 1 || metre.num % n === 0) : [];
  const others = [...lengths, 1].map((pulses) => noteValue(pulses, metre.den));
  const last = wider.map((pulses) => noteValue(pulses, metre.den));
  const choices = [usual];
  for (const choice of [...others, QUARTER, ...last]) {
    if (choice !== null && !choices.some((known) => sameValue(known, choice))) choices.push(choice);
  }
  return [usual, ...choices.slice(1)];
}

/** "4/4", "6/8"; with its groups where they are uneven or not the usual ones: "7/8 (2+2+3)", "5/4 (3+2)". */
export function metreName(metre: Metre): string {
  const usual = defaultGroups(metre.num, metre.den).join('+');
  const groups = metre.groups.join('+');
  const plain = groups === usual && allEqual(metre.groups);
  return plain ? `${metre.num}/${metre.den}` : `${metre.num}/${metre.den} (${groups})`;
}

const isPulseCount = (value: number): boolean => Number.isInteger(value) && value >= 1 && value <= MOST_PULSES;
const sum = (values: readonly number[]): number => values.reduce((total, value) => total + value, 0);
const allEqual = (values: readonly number[]): boolean => values.every((value) => value === values[0]);
const sameValue = (a: NoteValue, b: NoteValue): boolean => a.num === b.num && a.den === b.den;
const groupsAreAccents = ({ den, groups }: Metre): boolean => den <= 4 && !allEqual(groups);

function groupStarts(groups: readonly number[]): readonly number[] {
  return groups.map((_, i) => sum(groups.slice(0, i)));
}

function defaultGroups(num: number, den: PulseValue): readonly number[] {
  // Thirty-two single beats would need a 32nd bit in the mask, so they go in pairs.
  if (den < 8) return num === MOST_PULSES ? repeat(2, num / 2) : repeat(1, num);
  if (num < 5) return repeat(1, num);
  const threes = repeat(3, Math.floor(num / 3));
  if (num % 3 === 0) return threes;
  return num % 3 === 2 ? [...threes, 2] : [2, 2, ...threes.slice(1)];
}

const repeat = (value: number, times: number): readonly number[] => Array.from({ length: times }, () => value);

/** Where the felt beats are equal and one note shows them, that note; else the pulse. */
function defaultMark(metre: Metre): NoteValue {
  const lengths = feltBeats(metre).map((beat) => beat.pulses);
  const beat = allEqual(lengths) ? noteValue(lengths[0] ?? 1, metre.den) : null;
  return beat ?? { num: 1, den: metre.den };
}

/** `pulses` (or half of one) as one plain or dotted note, reduced; null where no single note is that long. */
function noteValue(pulses: number, pulse: PulseValue): NoteValue | null {
  let num = pulses < 1 ? 1 : pulses;
  let den: number = pulses < 1 ? pulse / pulses : pulse;
  while (num % 2 === 0 && den > 1) {
    num /= 2;
    den /= 2;
  }
  const shown = num === 1 || (num === 3 && den > 1);
  return shown && isPulseValue(den) ? { num, den } : null;
}
