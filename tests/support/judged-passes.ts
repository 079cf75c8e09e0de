/** What a watch says of the passes of a machine, held against the truth. */
import { alignmentsOf } from '../../src/core/watch/alignments.js';
import { RoundTripWatch } from '../../src/core/watch/round-trip-watch.js';
import { frames } from '../../src/core/units/index.js';
import type { SteppingMachine } from './stepping-machine.js';
import { RATE } from './stepping-machine.js';

const BAR_FRAMES = 90_000;
const BARS = 8;
const FIRST_PASS = 20 * RATE;

export interface Judgement {
  passes: number;
  /** Every bar sure, and right to the frame. */
  exact: number;
  /** Every bar sure, and right within 20 frames. */
  near: number;
  /** A bar or more called unsure. */
  unsure: number;
  /** A bar or more called sure, and further off than was said. */
  wrong: number;
  /** Called proved, and by how many frames one of these was further off than was said. */
  proved: number;
  provedOver: number;
  bars: number;
  barsUnsure: number;
  /** Greatest error of a bar that was called sure, frames. */
  worst: number;
  /** The same, over what was said. */
  worstOver: number;
}

export const nothingJudged = (): Judgement => ({
  passes: 0,
  exact: 0,
  near: 0,
  unsure: 0,
  wrong: 0,
  proved: 0,
  provedOver: 0,
  bars: 0,
  barsUnsure: 0,
  worst: 0,
  worstOver: 0,
});

/** The machine's whole run, as one watch saw it. */
export function watchOf(machine: SteppingMachine): RoundTripWatch {
  const watch = new RoundTripWatch(machine.setup);
  for (const observation of machine.observations()) watch.observe(observation);
  return watch;
}

/** Judges pass after pass of eight bars, each placed by the first measurement. */
export function judge(machine: SteppingMachine, into: Judgement): void {
  const history = watchOf(machine).history();
  const measured = machine.measurements[0];
  if (measured === undefined) throw new Error('Got no measurement when expected one after 16 s.');
  const base = { roundTrip: measured.roundTrip, how: 'measured', sure: true, at: measured.from } as const;
  for (
    let start = FIRST_PASS;
    start + (BARS + 1) * BAR_FRAMES < machine.rendered - 4 * RATE;
    start += BARS * BAR_FRAMES
  ) {
    const mix = Array.from({ length: BARS + 1 }, (_, bar) => start + bar * BAR_FRAMES);
    const lines = mix.map((line) => frames(line + base.roundTrip));
    const { alignments, proved } = alignmentsOf(lines, base, history);
    let [unsure, error, over] = [0, 0, 0];
    for (let bar = 0; bar < BARS; bar++) {
      const said = alignments.findLast(({ fromBar }) => fromBar <= bar);
      if (said?.sure !== true) {
        unsure++;
        continue;
      }
      const truth = [mix[bar] ?? 0, (mix[bar + 1] ?? 0) - 1].map((at) => machine.tripOf(at));
      const off = Math.max(...truth.map((trip) => Math.abs(trip - said.roundTrip)));
      error = Math.max(error, off);
      over = Math.max(over, off - said.within);
    }
    into.passes++;
    into.bars += BARS;
    into.barsUnsure += unsure;
    if (unsure > 0) into.unsure++;
    else if (error === 0) into.exact++;
    else if (error <= 20) into.near++;
    if (over > 0) into.wrong++;
    if (proved) into.proved++;
    if (proved) into.provedOver = Math.max(into.provedOver, over);
    into.worst = Math.max(into.worst, error);
    into.worstOver = Math.max(into.worstOver, over);
  }
}
