/**
 * How far the parts of a song may go, and the refusal where one goes further. Within a schema version limits only ever
 * widen: a journal that was valid when it was written must replay for ever.
 */
import type { Metre, NoteValue } from '../meter/metre.js';
import { checkMetre, isPulseValue, MOST_PULSES } from '../meter/metres.js';
import type { Hold } from '../meter/stretch.js';
import type { Result } from '../result/result.js';
import { failure, success } from '../result/result.js';
import type { Bars, Bpm, Decibels, Frames, SampleRate } from '../units/index.js';
import { bars, bpm, decibels } from '../units/index.js';
import type { EditRefusal } from './edits.js';

export const MIN_TEMPO: Bpm = bpm(20);
export const MAX_TEMPO: Bpm = bpm(400);
export const MIN_PULSES = 1;
export const MAX_PULSES = MOST_PULSES;
export const MIN_SECTION_BARS: Bars = bars(1);
export const MAX_SECTION_BARS: Bars = bars(64);
export const MIN_COUNT_IN: Bars = bars(1);
export const MAX_COUNT_IN: Bars = bars(2);
export const MIN_GAIN: Decibels = decibels(-60);
export const MAX_GAIN: Decibels = decibels(12);
/** How much longer a fermata may be, in beats of the one that it holds. Own choice: no player waits for more. */
export const MAX_HOLD_BEATS = 64;
/** The longest fermata that is given in frames, and the longest bar in free time: an hour. */
const MAX_HOLD_SECONDS = 3600;
/** Own choice: the third layer back is inaudible. */
export const MAX_RECEDE: Decibels = decibels(24);
/** Characters of a title or a name, after white space at both ends is taken off; a pair of surrogates counts as one. */
export const MAX_NAME_LENGTH = 200;

/** The refusal of a tempo, or null where it is within its limits. */
export function tempoRefusal(tempo: Bpm): EditRefusal | null {
  return within(tempo, MIN_TEMPO, MAX_TEMPO) ? null : 'tempo-out-of-range';
}

/** The refusal of a metre and the note value that its tempo counts, or null where both can be written and played. */
export function metreRefusal(metre: Metre, mark: NoteValue): EditRefusal | null {
  return checkMetre(metre).ok && isOneNote(mark) ? null : 'metre-out-of-range';
}

/** The refusal of a section's length; null, its length is open, is allowed. */
export function sectionBarsRefusal(length: Bars | null): EditRefusal | null {
  return length === null || wholeWithin(length, MIN_SECTION_BARS, MAX_SECTION_BARS) ? null : 'bars-out-of-range';
}

/** The refusal of a count-in; null, chosen by the tempo, is allowed. */
export function countInRefusal(length: Bars | null): EditRefusal | null {
  return length === null || wholeWithin(length, MIN_COUNT_IN, MAX_COUNT_IN) ? null : 'count-in-out-of-range';
}

/** The refusal of a gain. Silence (−∞ dB) is refused: a layer is left out instead. */
export function gainRefusal(gain: Decibels): EditRefusal | null {
  return within(gain, MIN_GAIN, MAX_GAIN) ? null : 'gain-out-of-range';
}

/** The refusal of what a layer loses for every layer after it. */
export function recedeRefusal(recede: Decibels): EditRefusal | null {
  return within(recede, 0, MAX_RECEDE) ? null : 'recede-out-of-range';
}

/** The refusal of fermatas that are too long, or no longer than written; whether they are on beats is checked with their bars. */
export function holdsRefusal(holds: readonly Hold[], rate: SampleRate): EditRefusal | null {
  return holds.every(({ longer }) => {
    if (longer.type === 'beats') return longer.beats > 0 && longer.beats <= MAX_HOLD_BEATS;
    return longer.type === 'until-pressed' || within(longer.frames, 0, MAX_HOLD_SECONDS * rate);
  })
    ? null
    : 'hold-out-of-range';
}

/** The refusal of the length of a bar in free time; null, until a press, is allowed. */
export function freeRefusal(length: Frames | null, rate: SampleRate): EditRefusal | null {
  return length === null || wholeWithin(length, 1, MAX_HOLD_SECONDS * rate) ? null : 'hold-out-of-range';
}

/** The refusal of a blend's length. */
export function blendRefusal(length: Bars): EditRefusal | null {
  return length <= MAX_SECTION_BARS ? null : 'blend-too-long';
}

/** A title or a name without white space at its ends, or why it cannot be one. */
export function trimmedName(text: string): Result<string, EditRefusal> {
  const name = text.trim();
  if (name === '') return failure('name-empty');
  // More code units than twice the limit are too many characters in any case: nothing long is counted.
  if (name.length > 2 * MAX_NAME_LENGTH || Array.from(name).length > MAX_NAME_LENGTH) return failure('name-too-long');
  return success(name);
}

function within(value: number, least: number, most: number): boolean {
  return value >= least && value <= most;
}

function wholeWithin(value: number, least: number, most: number): boolean {
  return Number.isInteger(value) && within(value, least, most);
}

/** A tempo counts one note, plain or dotted, up to a whole note and a dotted one (common practice, no source). */
function isOneNote({ num, den }: NoteValue): boolean {
  return isPulseValue(den) && (num === 1 || (num === 3 && den > 1));
}
