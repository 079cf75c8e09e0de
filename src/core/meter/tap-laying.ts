/**
 * Which tap belongs to which beat. The pattern gives the pulses from beat to beat, over and over: [1] for even beats,
 * [2, 2, 3] for the felt beats of 7/8. For a guess of the pulse, the cheapest way through all taps is found by dynamic
 * programming: each tap is used or left out, and from one used tap to the next it is one beat, or more where taps are
 * missing, each with its price. So one wrong tap, wherever it is, cannot lead the later ones astray.
 */

/** The used taps and the pulse on which each lies, from 0 at the first. */
export interface Laying {
  readonly times: readonly number[];
  readonly pulses: readonly number[];
  /** Beat of the pattern on which the first of them lies. */
  readonly firstBeat: number;
  readonly leftOut: number;
  /** Beats passed over for which no tap was left out. */
  readonly missed: number;
}

/** A used tap on a beat of the pattern, and the cheapest way to it. */
interface Node {
  readonly tap: number;
  readonly beat: number;
  /** Pulses from the used tap before; 0 for the first. */
  readonly pulses: number;
  readonly missed: number;
  readonly before: Node | null;
  readonly cost: number;
}

/**
 * Prices, as log odds against a tap that is used. Own choice, tried against simulated taps: at a scatter of 4 % one good
 * tap in 1500 is left out at most.
 */
export const LEFT_OUT = 6;
export const MISSED = 2;
/**
 * Scatter of an interval here, as a share of the mean beat: wide, since a laying need only find the beat of each tap. With
 * it a tap is left out from about 28 % off its place.
 */
const SCATTER = 0.08 * Math.SQRT2;
/** Beats and taps from one used tap to the next, at most. */
const FARTHEST = 3;

/** @param pulse the guess, in the unit of `times`, which rise strictly and are at least one */
export function layTaps(times: readonly number[], pattern: readonly number[], pulse: number): Laying {
  const columns: Node[][] = [];
  for (const tap of times.keys()) {
    columns.push(Array.from(pattern, (_, beat) => cheapest(times, pattern, pulse, columns, { tap, beat })));
  }
  const ends = columns.flat();
  const costOfEnd = ({ cost, tap }: Node): number => cost + LEFT_OUT * (times.length - 1 - tap);
  const end = ends.reduce((best, node) => (costOfEnd(node) < costOfEnd(best) ? node : best));
  return layingOf(end, times);
}

/** The cheapest way to a tap on a beat: from one of the taps before, or as the first one used. */
function cheapest(
  times: readonly number[],
  pattern: readonly number[],
  pulse: number,
  columns: readonly (readonly Node[])[],
  { tap, beat }: { readonly tap: number; readonly beat: number },
): Node {
  const beatPulses = pattern.reduce((sum, pulses) => sum + pulses, 0) / pattern.length;
  let best: Node = { tap, beat, pulses: 0, missed: 0, before: null, cost: tap * LEFT_OUT };
  for (let taps = 1; taps <= Math.min(FARTHEST, tap); taps++) {
    const gap = ((times[tap] ?? 0) - (times[tap - taps] ?? 0)) / pulse;
    let pulses = 0;
    for (let beats = 1; beats <= FARTHEST; beats++) {
      const from = modulo(beat - beats, pattern.length);
      pulses += pattern[from] ?? 0;
      const before = columns[tap - taps]?.[from];
      if (before === undefined) continue;
      const missed = Math.max(0, beats - taps);
      const off = (gap - pulses) / beatPulses / SCATTER;
      const cost = before.cost + (taps - 1) * LEFT_OUT + missed * MISSED + off ** 2 / 2;
      if (cost < best.cost) best = { tap, beat, pulses, missed, before, cost };
    }
  }
  return best;
}

function layingOf(end: Node, times: readonly number[]): Laying {
  const way = [end];
  for (let node = end.before; node !== null; node = node.before) way.unshift(node);
  let pulse = 0;
  return {
    times: way.map(({ tap }) => times[tap] ?? 0),
    pulses: way.map(({ pulses }) => (pulse += pulses)),
    firstBeat: way[0]?.beat ?? 0,
    leftOut: times.length - way.length,
    missed: way.reduce((sum, { missed }) => sum + missed, 0),
  };
}

const modulo = (value: number, by: number): number => ((value % by) + by) % by;
