/**
 * Bars whose reference was lost, as it is for the last one where playing stopped at its line: what the watch says of them,
 * from the nearest bar before them that is certain.
 */
import type { Frames } from '../core/units/index.js';
import { addFrames, bars, subtractFrames } from '../core/units/index.js';
import type { BarTrip, PassAlignments, TripMark } from '../core/watch/alignments.js';
import { alignmentsOf } from '../core/watch/alignments.js';
import type { TripHistory } from '../core/watch/history.js';

/**
 * @param mix frames at which the bar lines were mixed, one more than the pass has bars.
 * A bar stays unsure where the watch does not know either, or where the bar after it contradicts what it says.
 */
export function filledByWatch(found: PassAlignments, mix: readonly Frames[], history: TripHistory): PassAlignments {
  const trips = mix.slice(1).map((_, bar) => tripAt(found.alignments, bar));
  const marks: TripMark[] = [];
  for (const mark of found.marks) {
    const said = mark.kind === 'cable-lost' ? saidByWatch(mark, trips, mix, history) : null;
    if (said === null) marks.push(mark);
    else trips.splice(mark.bar, said.length, ...said);
  }
  return marks.length === found.marks.length ? found : { ...found, alignments: inStretches(trips), marks };
}

/** The watch's word on each bar that is marked; null where it has none, or it does not fit what follows. */
function saidByWatch(
  { bar, lastBar }: TripMark,
  trips: readonly (BarTrip | null)[],
  mix: readonly Frames[],
  history: TripHistory,
): readonly (BarTrip | null)[] | null {
  const [before, after] = [trips[bar - 1], trips[lastBar + 1]];
  const line = mix[bar];
  if (before?.sure !== true || line === undefined) return null;
  const { roundTrip, how } = before;
  const lines = mix.slice(bar, lastBar + 2).map((each) => addFrames(each, roundTrip));
  const base = { roundTrip, how, sure: true, at: addFrames(line, roundTrip) };
  const said = alignmentsOf(lines, base, history).alignments;
  const fits = after === undefined || after?.roundTrip === said.at(-1)?.roundTrip;
  if (said.length === 0 || !fits || !said.every(({ sure }) => sure)) return null;
  return Array.from({ length: lastBar - bar + 1 }, (_, each) => tripAt(said, each));
}

function inStretches(trips: readonly (BarTrip | null)[]): readonly BarTrip[] {
  const stretches: BarTrip[] = [];
  trips.forEach((trip, bar) => {
    const last = stretches.at(-1);
    const goesOn = last?.roundTrip === trip?.roundTrip && last?.sure === trip?.sure && last?.within === trip?.within;
    if (trip !== null && !goesOn) stretches.push({ ...trip, fromBar: bars(bar) });
  });
  return stretches;
}

/** Of lines in capture frames, those in the mix. */
export const mixedAt = (lines: readonly Frames[], roundTrip: Frames): readonly Frames[] =>
  lines.map((line) => subtractFrames(line, roundTrip));

const tripAt = (trips: readonly BarTrip[], bar: number): BarTrip | null =>
  trips.findLast(({ fromBar }) => fromBar <= bar) ?? null;
