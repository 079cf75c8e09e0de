/** Gives each sighting its place among the captured frames. */
import type { WatchSetup } from './history.js';
import type { Measurement } from './observations.js';
import { openSighting, type Sighting } from './sighting.js';

/** How far off the place may be while the round trip has not been measured, to each side. */
const UNMEASURED_SECONDS = 0.05;
/**
 * What the processor's input queue is trusted to hold above its least, frames. When it overflows it drops frames, and
 * without the track's own there is no sign of it. Own choice: round trips that stepped by 1,652 in all without loss were
 * seen on one machine.
 */
const INPUT_HOLDS = 2048;

/** A sighting in capture frames. */
export interface Placed extends Sighting {
  readonly axis: 'capture';
}

/** The least and the most that a round trip may be. */
type Range = readonly [number, number];

/**
 * @param measurements in order.
 * @returns the sightings in order of their beginnings.
 */
export function placeSightings(
  sightings: readonly Sighting[],
  measurements: readonly Measurement[],
  setup: WatchSetup,
): readonly Placed[] {
  const first = measurements[0];
  const slack = UNMEASURED_SECONDS * setup.sampleRate;
  const expected = first?.roundTrip ?? setup.expectedRoundTrip;
  const lastTrip = (capture: number): number =>
    measurements.findLast(({ from }) => from <= capture)?.roundTrip ?? expected;
  const frameOf = ({ axis, from }: Sighting): number => (axis === 'mix' ? from : from - lastTrip(from));
  // In the mix: there, what happened first comes first, however long the round trip grew.
  const keyed = sightings.map((sighting) => ({ sighting, at: frameOf(sighting) })).sort((a, b) => a.at - b.at);
  const inOrder = keyed.map(({ sighting }) => sighting);
  /** The number of measurements that were made before each sighting. */
  const made = countBefore(
    keyed.map(({ at }) => at),
    measurements,
  );
  const measuredBefore = (i: number): Measurement | undefined => measurements[(made[i] ?? 0) - 1];
  const opened: Range = [setup.expectedRoundTrip - slack, setup.expectedRoundTrip + slack];

  const seen = setup.capture === 'processor' ? doubtQueue(inOrder, measuredBefore, expected) : inOrder;
  // Before each sighting, reckoned from what was measured before it …
  const before: Range[] = [];
  seen.forEach((_, i) => {
    const isNews = i === 0 || made[i] !== made[i - 1];
    const measured = measuredBefore(i)?.roundTrip;
    if (isNews) before.push(measured === undefined ? opened : [measured, measured]);
    else before.push(sum(before[i - 1] ?? opened, seen[i - 1]?.range ?? [0, 0]));
  });
  // … and after it, from what was measured next.
  const after: (Range | null)[] = seen.map(() => null);
  for (let i = seen.length - 1; i >= 0; i--) {
    const next = measurements[made[i] ?? 0]?.roundTrip;
    const isLast = i === seen.length - 1 || made[i] !== made[i + 1];
    const later = after[i + 1] ?? null;
    if (isLast) after[i] = next === undefined ? null : [next, next];
    else after[i] = later === null ? null : difference(later, seen[i + 1]?.range ?? [0, 0]);
  }
  return seen
    .map((sighting, i): Placed => {
      const { axis, from, to, range } = sighting;
      if (axis === 'capture') return { ...sighting, axis };
      const forward = before[i] ?? opened;
      const backward = after[i] ?? null;
      const [low] = backward === null ? forward : common(forward, difference(backward, range));
      const [, high] = backward === null ? sum(forward, range) : common(sum(forward, range), backward);
      // What the queue drops, it drops when the late call comes: a round trip before the gap itself is captured.
      const mayDrop = setup.capture === 'processor' && sighting.shift === null;
      return { ...sighting, axis: 'capture', from: mayDrop ? Math.min(from, from + low) : from + low, to: to + high };
    })
    .sort((a, b) => a.from - b.from);
}

/** How many measurements had begun in the mix before each of these frames of it, which ascend. */
function countBefore(at: readonly number[], measurements: readonly Measurement[]): readonly number[] {
  let made = 0;
  return at.map((frame) => {
    for (let next = measurements[made]; next !== undefined; next = measurements[made]) {
      if (next.from - next.roundTrip > frame) break;
      made++;
    }
    return made;
  });
}

/**
 * A gap leaves its length in the queue of the input, which drops what it cannot hold. What the queue held when it was
 * first measured is at most what had come into it since the opening.
 */
function doubtQueue(
  inOrder: readonly Sighting[],
  measuredBefore: (i: number) => Measurement | undefined,
  expected: number,
): readonly Sighting[] {
  let high = expected;
  let least = Infinity;
  let last: Measurement | undefined;
  let risen = 0;
  return inOrder.map((sighting, i) => {
    const measured = measuredBefore(i);
    if (measured !== undefined && measured !== last) {
      least = Math.min(least, measured.roundTrip - (last === undefined ? risen : 0));
      high = measured.roundTrip;
      last = measured;
    }
    const held = last === undefined ? risen : high - least;
    const { kind, shift, within, axis, from, to, range } = sighting;
    const gap = kind === 'output-gap' && shift !== null ? shift + within : 0;
    const next =
      gap > 0 && held + gap > INPUT_HOLDS ? openSighting('input-full', axis, from, to, [-held, gap]) : sighting;
    const rise = kind === 'opening' ? 0 : Math.max(0, range[1]);
    risen += rise;
    high += rise;
    return next;
  });
}

const sum = (a: Range, b: Range): Range => [a[0] + b[0], a[1] + b[1]];
const difference = (a: Range, b: Range): Range => [a[0] - b[1], a[1] - b[0]];

/** What both allow; the second alone where they contradict each other. */
function common(a: Range, b: Range): Range {
  const both: Range = [Math.max(a[0], b[0]), Math.min(a[1], b[1])];
  return both[0] <= both[1] ? both : b;
}
