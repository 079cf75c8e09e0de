/** Reading the plan: which state holds at an engine frame. */
import type { Grid } from '../meter/grid.js';
import type { Frames } from '../units/index.js';
import type { Pass, Plan, RunningPlan } from './plan.js';
import type { TransportState } from './states.js';

/** The state at an engine frame. Without a tempo it is Recording until the loop plays. A running plan that has not reached its first line without a pass is Playing. */
export function stateAt(plan: Plan, at: Frames, grid: Grid): TransportState {
  if (plan.type === 'stopped') return 'stopped';
  if (plan.type === 'free') return 'recording';
  const pass = passAt(plan, at, grid);
  if (pass === null) return 'playing';
  const position = at - plan.origin;
  if (position < 0 && !pass.over) return 'counting-in';
  if (position < grid.lineOf(pass.startBar)) return 'waiting';
  return pass.over ? 'layering' : 'recording';
}

/** The first pass that has not ended at an engine frame, whether or not it has begun; null if there is none. */
export function passAt(plan: RunningPlan, at: Frames, grid: Grid): Pass | null {
  const position = at - plan.origin;
  for (const pass of plan.passes) {
    if (pass.endBar === null || position < grid.lineOf(pass.endBar)) return pass;
  }
  return null;
}

/** Whether a pass is followed by another: one is lined up, or will be once the pass before it has been captured. */
export const goesRound = (pass: Pass, { passes }: RunningPlan): boolean =>
  pass.keepsGoing || passes.indexOf(pass) < passes.length - 1;
