/** What the reference says of a pass: where each of its bars lies, to the frame. */
import type { Bars, Frames } from '../units/index.js';
import { bars, frames, subtractFrames } from '../units/index.js';
import type { ReferenceBar } from './reference.js';

/** From a bar of the pass on. */
export interface ReferenceTrip {
  readonly fromBar: Bars;
  readonly roundTrip: Frames;
  readonly how: 'cable';
  /** The reference came back at both of its lines, with the same round trip. */
  readonly sure: boolean;
}

/** A bar in which the round trip moved, or the reference was lost. */
export interface ReferenceMark {
  readonly bar: Bars;
  /** How much later the audio lies after it; null where the reference is lost. */
  readonly shift: Frames | null;
}

export interface ReferenceAlignment {
  /** In order of bars, the first bar 0; neighbours differ. Empty where the reference never came back. */
  readonly trips: readonly ReferenceTrip[];
  readonly marks: readonly ReferenceMark[];
}

/**
 * @param lines what was read at each bar line of the pass, one more than it has bars.
 * A bar whose two lines agree is sure; one in which it moved is not, and the next one is again. Where the reference was
 * lost, the round trip that was read last before it, or first after it, is the best there is, and not sure.
 */
export function alignByReference(lines: readonly ReferenceBar[]): ReferenceAlignment {
  const read = lines.map(({ roundTrip }) => roundTrip);
  const first = read.find((roundTrip): roundTrip is Frames => roundTrip !== null);
  if (first === undefined) return { trips: [], marks: [] };
  const trips: ReferenceTrip[] = [];
  const marks: ReferenceMark[] = [];
  let last = first;
  for (let bar = 0; bar + 1 < read.length; bar++) {
    const [here, next] = [read[bar] ?? null, read[bar + 1] ?? null];
    last = here ?? last;
    if (here === null || next === null) marks.push({ bar: bars(bar), shift: null });
    else if (here !== next) marks.push({ bar: bars(bar), shift: subtractFrames(next, here) });
    const trip: ReferenceTrip = {
      fromBar: bars(bar),
      roundTrip: frames(last),
      how: 'cable',
      sure: here !== null && here === next,
    };
    const before = trips.at(-1);
    if (before?.roundTrip !== trip.roundTrip || before.sure !== trip.sure) trips.push(trip);
  }
  return { trips, marks };
}
