/** From what was sighted and what was measured to the history: the measurements say what the sightings left open. */
import { frames, nearestFrame } from '../units/index.js';
import type { Disturbance, TripHistory, WatchSetup } from './history.js';
import type { Measurement } from './observations.js';
import { placeSightings, type Placed } from './place.js';
import type { Sighting } from './sighting.js';

/** A disturbance with what its shift may be at all. */
interface Ranged extends Disturbance {
  readonly range: readonly [number, number];
}

/** A measurement is right to the frame; two of them may differ by this without anything having moved. */
const MEASURED_WITHIN = 1;

/** The same for any order of what came in. */
export function buildHistory(
  sightings: readonly Sighting[],
  measurements: readonly Measurement[],
  setup: WatchSetup,
): TripHistory {
  const inOrder = [...measurements].sort((a, b) => a.from - b.from);
  let disturbances: readonly Ranged[] = placeSightings(sightings, inOrder, setup).map(disturbanceOf);
  const holding = inOrder.filter(({ from, to }) =>
    disturbances.every(({ fromFrame, toFrame }) => toFrame <= from || fromFrame >= to),
  );
  for (let i = 1; i < holding.length; i++) {
    const [before, after] = [holding[i - 1], holding[i]];
    if (before !== undefined && after !== undefined) disturbances = explain(disturbances, before, after);
  }
  return { sampleRate: setup.sampleRate, disturbances: disturbances.map(withoutRange), measurements: holding };
}

function disturbanceOf({ kind, from, to, shift, how, within, range }: Placed): Ranged {
  return {
    kind,
    fromFrame: nearestFrame(from),
    toFrame: nearestFrame(to),
    shift: shift === null ? null : nearestFrame(shift),
    how,
    within: frames(Math.ceil(within)),
    range,
  };
}

function withoutRange({ kind, fromFrame, toFrame, shift, how, within }: Ranged): Disturbance {
  return { kind, fromFrame, toFrame, shift, how, within };
}

/** What happened between two measurements, in the light of both. */
function explain(all: readonly Ranged[], before: Measurement, after: Measurement): readonly Ranged[] {
  const between = all.filter(({ fromFrame, toFrame }) => fromFrame >= before.to && toFrame <= after.from);
  const moved = after.roundTrip - before.roundTrip;
  const known = between.reduce((sum, { shift }) => sum + (shift ?? 0), 0);
  const within = addedUp(between.map((each) => each.within));
  const open = between.filter(({ shift }) => shift === null);
  const read = between.filter(({ how }) => how === 'read');
  const rest = moved - known;
  const solve = (unknown: Ranged, shift: number, left: number): readonly Ranged[] =>
    replaced(all, [unknown], {
      ...unknown,
      shift: frames(shift),
      how: left === 0 ? 'exact' : 'read',
      within: frames(left),
    });

  if (open.length > 1) return all;
  const [least, most] = open[0]?.range ?? [0, 0];
  // Nothing that was seen can have done this.
  if (rest < least - within - MEASURED_WITHIN || rest > most + within + MEASURED_WITHIN) {
    const unseen = { kind: 'unseen', fromFrame: before.to, toFrame: after.from, shift: frames(moved) } as const;
    return replaced(all, between, { ...unseen, how: 'unknown', within: frames(0), range: [moved, moved] });
  }
  if (open[0] !== undefined) return solve(open[0], rest, within);
  return read[0] !== undefined && read.length === 1 ? solve(read[0], (read[0].shift ?? 0) + rest, 0) : all;
}

/** Independent errors, each hardly ever greater than stated. */
const addedUp = (errors: readonly number[]): number => Math.ceil(Math.hypot(...errors));

function replaced(all: readonly Ranged[], old: readonly Ranged[], by: Ranged): readonly Ranged[] {
  const kept = all.filter((each) => !old.includes(each));
  const behind = kept.findIndex(({ fromFrame }) => fromFrame > by.fromFrame);
  return kept.toSpliced(behind < 0 ? kept.length : behind, 0, by);
}
