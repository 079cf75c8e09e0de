/** How passes lead to others without a press: one closes or is captured, layering is kept up or no longer. Pure. */
import type { Grid } from '../meter/grid.js';
import type { Bars, Frames } from '../units/index.js';
import { bars } from '../units/index.js';
import type { Step, StepContext } from './events.js';
import { begun, dropped } from './events.js';
import { LONGEST_PASS, passesOnward } from './passes.js';
import type { Pass, Plan, RunningPlan } from './plan.js';
import { passAt } from './state-at.js';

/** A pass is given its closing line; where it keeps going, the next one begins there. */
export function close(plan: RunningPlan, pass: Pass, endBar: Bars, { nextPass }: Pick<StepContext, 'nextPass'>): Step {
  const closed = { ...pass, endBar };
  const onward = pass.keepsGoing ? passesOnward(closed, nextPass) : [];
  const passes = [...plan.passes.map((each) => (each === pass ? closed : each)), ...onward];
  return {
    plan: { ...plan, passes },
    effects: [{ type: 'close', number: pass.number, endBar }, ...begun(onward)],
  };
}

/**
 * A pass has been captured whole and leaves the plan. Where layering is kept up, the pass that is running now is
 * followed by one more.
 */
export function withoutPass(
  plan: RunningPlan,
  number: number,
  { nextPass, keepLayering }: Pick<StepContext, 'nextPass' | 'keepLayering'>,
): Step {
  const passes = plan.passes.filter((pass) => pass.number !== number);
  const last = passes.at(-1);
  const goesOn = keepLayering && last?.keepsGoing === true && passes.length === 1;
  const onward = goesOn ? passesOnward(last, nextPass) : [];
  return { plan: { ...plan, passes: [...passes, ...onward] }, effects: begun(onward) };
}

/**
 * The setting *keep layering* was turned while something plays: off, the pass under way is the last, and what was lined
 * up behind it goes; on, it is followed by another.
 */
export function keepLayeringTurned(
  plan: Plan,
  heard: Frames,
  { grid, keepLayering, nextPass }: Pick<StepContext, 'grid' | 'keepLayering' | 'nextPass'>,
): Step {
  const current = plan.type === 'running' ? passAt(plan, heard, grid) : null;
  if (plan.type !== 'running' || current === null) return { plan, effects: [] };
  const upTo = plan.passes.slice(0, plan.passes.indexOf(current) + 1);
  const turned = upTo.map((pass) => ({ ...pass, keepsGoing: keepLayering && pass === current }));
  if (!keepLayering) return { plan: { ...plan, passes: turned }, effects: dropped(plan.passes.slice(upTo.length)) };
  const linedUp = plan.passes.slice(upTo.length).map((pass) => ({ ...pass, keepsGoing: true }));
  const onward = linedUp.length === 0 ? passesOnward({ ...current, keepsGoing: true }, nextPass) : [];
  return { plan: { ...plan, passes: [...turned, ...linedUp, ...onward] }, effects: begun(onward) };
}

/** A pass of open length that has come to LONGEST_PASS by a frame, and closes there; null where there is none. */
export function longestAt(plan: RunningPlan, at: Frames, grid: Grid): Pass | null {
  const open = plan.passes.at(-1);
  if (open?.endBar !== null) return null;
  return at - plan.origin < grid.lineOf(lastLineOf(open)) ? null : open;
}

/** The last line at which a pass can close. */
export const lastLineOf = ({ startBar }: Pass): Bars => bars(startBar + LONGEST_PASS);
