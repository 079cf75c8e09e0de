/** How passes end other than by closing: taken back, or stopped. Pure. */
import type { Frames } from '../units/index.js';
import { bars } from '../units/index.js';
import type { Step, StepContext, TransportEffect } from './events.js';
import { dropped, refused } from './events.js';
import { finishingLine } from './passes.js';
import type { Pass, Plan, RunningPlan } from './plan.js';

/**
 * The pass under way goes, and with it every pass that has not begun; where there is none, the newest that has closed but
 * is not yet captured whole. The first one takes the beat along.
 */
export function takeBack(plan: Plan, heard: Frames, context: StepContext): Step {
  const stopped: Plan = { type: 'stopped', at: context.earliest };
  if (plan.type === 'free') return { plan: stopped, effects: [{ type: 'drop-free' }] };
  if (plan.type === 'stopped' || plan.passes.length === 0) return refused(plan, 'nothing-to-take-back');
  const unfinished = plan.passes.findIndex((pass) => !hasEnded(plan, pass, heard, context));
  const from = unfinished < 0 ? plan.passes.length - 1 : unfinished;
  const gone = plan.passes.slice(from);
  const passes = plan.passes.slice(0, from).map((each) => ({ ...each, keepsGoing: false }));
  const takesTheBeat = gone.some((pass) => !pass.over);
  return { plan: takesTheBeat ? stopped : { ...plan, passes }, effects: dropped(gone) };
}

/**
 * What was played stays reachable. Passes that had reached their last line, to the nearest bar, are kept; an open one is
 * closed at the nearest line once half a bar has been played. What else was played of a pass is cut there. Dropped is
 * only what was hardly begun, and what the press began that turned out to be a hold.
 */
export function stop(plan: Plan, heard: Frames, undo: StepContext['lastPress'], context: StepContext): Step {
  const stopped: Plan = { type: 'stopped', at: context.earliest };
  if (plan.type === 'stopped') return { plan, effects: [] };
  if (plan.type === 'running') {
    return { plan: stopped, effects: plan.passes.map((pass) => endOf(plan, pass, heard, undo, context)) };
  }
  const isCut = plan.endsAt === null && plan.startsAt !== undo?.heard && heard - plan.startsAt >= context.falseStart;
  return { plan: stopped, effects: [isCut ? { type: 'cut-free', at: heard } : { type: 'drop-free' }] };
}

function endOf(
  plan: RunningPlan,
  pass: Pass,
  heard: Frames,
  undo: StepContext['lastPress'],
  { grid, falseStart }: StepContext,
): TransportEffect {
  const { number, startBar, endBar } = pass;
  if (undo !== null && number >= undo.nextPass) return { type: 'drop', number };
  const line = grid.lineOf(startBar);
  const played = heard - plan.origin - line;
  const half = (grid.lineOf(bars(startBar + 1)) - line) / 2;
  const nearest = finishingLine(plan, pass, heard, grid);
  if (played >= half && (endBar === null || nearest >= endBar)) {
    return { type: 'close', number, endBar: endBar ?? nearest };
  }
  return played >= falseStart ? { type: 'cut', number, at: heard } : { type: 'drop', number };
}

const hasEnded = ({ origin }: RunningPlan, { endBar }: Pass, heard: Frames, { grid }: StepContext): boolean =>
  endBar !== null && heard - origin >= grid.lineOf(endBar);
