/** "Keep that": a pass in the past, of what was played though nothing was being recorded. Pure. */
import type { Grid } from '../meter/grid.js';
import { lineForFinish } from '../meter/presses.js';
import type { Bars, Frames } from '../units/index.js';
import { bars, frames, subtractFrames } from '../units/index.js';
import type { Step, StepContext, TransportEffect } from './events.js';
import { refused } from './events.js';
import type { Pass, Plan, RunningPlan } from './plan.js';
import { passAt } from './state-at.js';

/**
 * While something plays, the last whole bars, up to the line nearest to the press, as many as the ring holds and as go
 * round with the loop. When nothing plays, the last phrase. What was or is being recorded is kept anyway, and no bar twice.
 */
export function keepThat(plan: Plan, heard: Frames, length: Bars, context: StepContext): Step {
  if (plan.type === 'stopped') return { plan, effects: [{ type: 'keep-phrase' }] };
  const { grid, oldest } = context;
  if (plan.type === 'free' || passAt(plan, heard, grid) !== null) return refused(plan, 'still-recording');
  const sinceOrigin = subtractFrames(heard, plan.origin);
  if (2 * sinceOrigin < grid.lineOf(bars(1))) return refused(plan, 'no-whole-bar');
  const endBar = lineForFinish(sinceOrigin, grid, { fromBar: bars(0) });
  const kept = keptLine(plan, context);
  if (endBar <= kept) return refused(plan, 'kept-already');
  let firstBar = Math.max(kept, endBar - length);
  while (firstBar < endBar && plan.origin + grid.lineOf(bars(firstBar)) < oldest) firstBar++;
  if (firstBar === endBar) return refused(plan, 'not-in-the-ring');
  const startBar = endBar - fittingBars(endBar - firstBar, context.loopBars);
  const at = startOf(plan, startBar, endBar, context);
  const pass: Pass = {
    number: context.nextPass,
    startBar: bars(startBar - at.bar),
    endBar: bars(endBar - at.bar),
    over: context.hasLayers,
    keepsGoing: false,
  };
  const effects: TransportEffect[] = [
    { type: 'begin', pass },
    { type: 'keep-bars', number: pass.number, leftOut: bars(startBar - firstBar) },
  ];
  return { plan: { ...plan, origin: at.origin, passes: [...plan.passes, pass] }, effects };
}

/** The most bars, up to so many, that go round with a loop: a part of it that divides it, or the loop some times over. */
export function fittingBars(most: number, loop: Bars | null): number {
  if (loop === null) return most;
  if (most >= loop) return most - (most % loop);
  let fitting = most;
  while (loop % fitting !== 0) fitting--;
  return fitting;
}

/** The last line up to which something is kept. The end of a loop that was played without a tempo is near its line. */
function keptLine({ origin, passes }: RunningPlan, { grid, keptUpTo }: StepContext): number {
  const inPlan = passes.at(-1)?.endBar ?? 0;
  if (keptUpTo === null || keptUpTo <= origin) return inPlan;
  return Math.max(inPlan, lineForFinish(subtractFrames(keptUpTo, origin), grid, { fromBar: bars(-1) }));
}

/** Over a click alone the phrase's own line becomes line 0, where the bars from there on are as they are from there. */
function startOf(
  { origin, passes }: RunningPlan,
  startBar: number,
  endBar: number,
  { grid, hasLayers }: StepContext,
): { readonly origin: Frames; readonly bar: number } {
  if (hasLayers || passes.length > 0 || !liesAlike(grid, startBar, endBar)) return { origin, bar: 0 };
  return { origin: frames(origin + grid.lineOf(bars(startBar))), bar: startBar };
}

/** Whether bars up to the one that is under way are as long when they are counted from another line. */
function liesAlike(grid: Grid, startBar: number, endBar: number): boolean {
  const zero = grid.lineOf(bars(startBar));
  for (let bar = startBar; bar <= endBar + 1; bar++) {
    if (grid.lineOf(bars(bar)) - zero !== grid.lineOf(bars(bar - startBar))) return false;
  }
  return true;
}
