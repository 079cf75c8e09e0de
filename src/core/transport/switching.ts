/** The one switch: what a press does in each state. Pure. */
import type { Frames } from '../units/index.js';
import { bars, frames } from '../units/index.js';
import { takeBack } from './ending.js';
import type { Step, StepContext } from './events.js';
import { begun, dropped } from './events.js';
import { close } from './going-round.js';
import { finishingLine, passFrom, passesOnward, startingLine } from './passes.js';
import type { Pass, Plan, RunningPlan } from './plan.js';
import { goesRound, passAt, stateAt } from './state-at.js';

export function press(plan: Plan, heard: Frames, context: StepContext): Step {
  if (plan.type === 'stopped') return context.hasLayers ? play(context) : first(heard, context);
  if (plan.type === 'free') return endFree(plan.startsAt, plan.endsAt, heard);
  switch (stateAt(plan, heard, context.grid)) {
    case 'stopped':
    case 'counting-in':
    case 'waiting':
      return takeBack(plan, heard, context);
    case 'playing':
      return layer(plan, heard, context);
    case 'recording':
    case 'layering':
      return closeOrGoRound(plan, heard, context);
  }
}

export function play(context: StepContext): Step {
  const origin = frames(context.earliest + context.leadFrames);
  return { plan: { type: 'running', startsAt: context.earliest, origin, passes: [] }, effects: [] };
}

/** Only a closed loop is waited for: whoever has stopped or taken it back meanwhile is left in peace. */
export function join(plan: Plan, origin: Frames, context: StepContext): Step {
  if (plan.type !== 'free' || plan.endsAt === null) return { plan, effects: [] };
  return { plan: { type: 'running', startsAt: context.earliest, origin, passes: [] }, effects: [] };
}

function first(heard: Frames, context: StepContext): Step {
  if (context.withoutTempo) {
    return { plan: { type: 'free', startsAt: heard, endsAt: null }, effects: [{ type: 'begin-free', at: heard }] };
  }
  const { grid, earliest, countIn } = context;
  const origin = frames(earliest - grid.lineOf(bars(-countIn)));
  const passes = passFrom(bars(0), { ...context, over: false });
  return { plan: { type: 'running', startsAt: earliest, origin, passes }, effects: begun(passes) };
}

function endFree(from: Frames, endsAt: Frames | null, heard: Frames): Step {
  if (endsAt !== null) return { plan: { type: 'free', startsAt: from, endsAt }, effects: [] };
  return { plan: { type: 'free', startsAt: from, endsAt: heard }, effects: [{ type: 'end-free', from, to: heard }] };
}

/** Over a click alone there is no loop yet: the line at which its first pass begins becomes line 0. */
function layer(plan: RunningPlan, heard: Frames, context: StepContext): Step {
  const startBar = startingLine(plan, heard, context.grid, context.graceBeats);
  if (context.hasLayers) {
    const passes = passFrom(startBar, { ...context, over: true });
    return { plan: { ...plan, passes: [...plan.passes, ...passes] }, effects: begun(passes) };
  }
  const origin = frames(plan.origin + context.grid.lineOf(startBar));
  const startsAt = frames(origin + context.grid.lineOf(bars(-1)));
  const passes = passFrom(bars(0), { ...context, over: false });
  return { plan: { type: 'running', startsAt, origin, passes }, effects: begun(passes) };
}

function closeOrGoRound(plan: RunningPlan, heard: Frames, context: StepContext): Step {
  const pass = passAt(plan, heard, context.grid);
  if (pass === null) return { plan, effects: [] };
  if (pass.endBar === null) return close(plan, pass, finishingLine(plan, pass, heard, context.grid), context);
  if (goesRound(pass, plan)) return doNotGoRound(plan, pass);
  const next = passesOnward({ ...pass, keepsGoing: context.keepLayering }, context.nextPass, context.passBars);
  return { plan: { ...plan, passes: [...plan.passes, ...next] }, effects: begun(next) };
}

function doNotGoRound(plan: RunningPlan, pass: Pass): Step {
  const kept = plan.passes.slice(0, plan.passes.indexOf(pass) + 1);
  return {
    plan: { ...plan, passes: kept.map((each) => (each === pass ? { ...pass, keepsGoing: false } : each)) },
    effects: dropped(plan.passes.slice(kept.length)),
  };
}
