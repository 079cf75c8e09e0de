/**
 * Tempo words for a reading of beats a minute. Labels only: tables disagree, and a player may mean something else. The
 * ranges are those that several common tables share; outside them there is no word.
 */
import type { Metre, NoteValue } from '../meter/metre.js';
import { feltBeats } from '../meter/metres.js';
import type { Bpm } from '../units/index.js';

/** Each from its lower bound on. */
const RANGES = [
  [40, 'Largo'],
  [60, 'Larghetto'],
  [66, 'Adagio'],
  [76, 'Andante'],
  [108, 'Moderato'],
  [120, 'Allegro'],
  [168, 'Presto'],
] as const;
const FASTEST = 200;

export type TempoWord = (typeof RANGES)[number][1];

/**
 * The word for the felt beats of a metre, whatever note value the mark counts: eighths at 210 in 7/8 as 2+2+3 are felt at
 * 90. Uneven beats count by their mean. Null under 40 and over 200 felt beats a minute.
 */
export function tempoWord(tempo: { readonly bpm: Bpm; readonly mark: NoteValue }, metre: Metre): TempoWord | null {
  const bar = metre.num / metre.den;
  const beat = bar / feltBeats(metre).length;
  const felt = (tempo.bpm * (tempo.mark.num / tempo.mark.den)) / beat;
  if (felt > FASTEST) return null;
  return RANGES.findLast(([from]) => felt >= from)?.[1] ?? null;
}
