/** What is to be advised, as data. */
import type { Bars, Frames } from '../units/index.js';
import type { PassAlignments } from './alignments.js';
import type { DisturbanceKind, TripHistory } from './history.js';
import { calmStretches } from './trips.js';

export type Advice =
  | { readonly type: 'nothing' }
  /** The check of a second: it says how far the round trip moved. */
  | { readonly type: 'check-now' }
  /** The whole measurement: nothing of this opening holds any more, or nothing was measured. */
  | { readonly type: 'measure-again' }
  /** The bar cannot be repaired, because it was under way when something moved. */
  | { readonly type: 'retake-from-bar'; readonly bar: Bars };

/** After these it is another round trip. */
const ANOTHER_TRIP: ReadonlySet<DisturbanceKind> = new Set(['opening', 'resumed', 'input-reopened', 'clock-jumped']);
/** A round trip that is less sure than this is worth a check. */
const WORTH_A_CHECK_SECONDS = 0.0005;

/** For what is recorded from now on. */
export function adviceNow(history: TripHistory): Advice {
  const { disturbances, measurements, sampleRate } = history;
  const measured = measurements.at(-1);
  const since = disturbances.filter(({ fromFrame }) => measured === undefined || fromFrame >= measured.to);
  if (measured === undefined || since.some(({ kind }) => ANOTHER_TRIP.has(kind))) return { type: 'measure-again' };
  // It will be known by itself in a moment.
  if (since.some(({ kind }) => kind === 'being-read')) return { type: 'nothing' };
  const { sure, within } = lastTrip(history, measured.roundTrip, measured.from);
  return sure && within <= Math.ceil(WORTH_A_CHECK_SECONDS * sampleRate) ? { type: 'nothing' } : { type: 'check-now' };
}

/** For a pass that was recorded: what makes most of it exact comes first. */
export function adviceFor({ alignments, marks }: PassAlignments, history: TripHistory): Advice {
  if (marks.some(({ kind }) => kind === 'being-read')) return { type: 'nothing' };
  const open = marks.some(({ shift, how }) => how === 'unknown' && shift === null);
  if (open) {
    const now = adviceNow(history);
    if (now.type !== 'nothing') return now;
  }
  const unsure = alignments.find(({ sure }) => !sure);
  if (unsure === undefined) return { type: 'nothing' };
  return marks.length === 0 ? { type: 'measure-again' } : { type: 'retake-from-bar', bar: unsure.fromBar };
}

function lastTrip(
  history: TripHistory,
  roundTrip: Frames,
  at: Frames,
): { readonly sure: boolean; readonly within: number } {
  const last = calmStretches({ roundTrip, how: 'measured', sure: true, at }, history).at(-1);
  return last ?? { sure: false, within: 0 };
}
