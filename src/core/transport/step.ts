/**
 * The transport as a pure function: a plan, what the player did and when it was heard, to the plan that follows and
 * what the engine has to do about it. Source of the rules: the one-switch table and the press rules in DEVELOPERS.md.
 */
import type { Grid } from '../meter/grid.js';
import { lineForFinish, lineForStart } from '../meter/presses.js';
import type { Bars, Frames } from '../units/index.js';
import { bars, frames, subtractFrames } from '../units/index.js';
import type { Pass, Plan, RunningPlan } from './plan.js';
import { passAt, stateAt } from './state-at.js';

/** The longest pass: as long as a section can be. What was played on after it stays in the recording. */
export const LONGEST_PASS: Bars = bars(64);

export interface TransportEvent {
  readonly type: 'press' | 'play' | 'stop' | 'take-back';
  /** The engine frame that was being heard. */
  readonly heard: Frames;
}

export interface StepContext {
  readonly grid: Grid;
  /** First frame that can still be changed: what has been rendered, and two blocks. */
  readonly earliest: Frames;
  readonly hasLayers: boolean;
  /** Length of a pass; null leaves the first one open. */
  readonly passBars: Bars | null;
  readonly countIn: Bars;
  /** Frames before line 0 in which leads may sound. */
  readonly leadFrames: Frames;
  /** Number for the next new pass. */
  readonly nextPass: number;
}

export type TransportEffect =
  /** Begin to keep what comes in for a pass. */
  | { readonly type: 'begin'; readonly pass: Pass }
  /** A pass has been given its closing line. Also where it already had one. */
  | { readonly type: 'close'; readonly number: number; readonly endBar: Bars }
  | { readonly type: 'drop'; readonly number: number }
  | { readonly type: 'refuse'; readonly why: 'nothing-to-take-back' };

export interface Step {
  readonly plan: Plan;
  readonly effects: readonly TransportEffect[];
}

export function step(plan: Plan, event: TransportEvent, context: StepContext): Step {
  switch (event.type) {
    case 'press':
      return press(plan, event.heard, context);
    case 'play':
      return plan.type === 'stopped' ? play(context) : { plan, effects: [] };
    case 'stop':
      return stop(plan, event.heard, context);
    case 'take-back':
      return takeBack(plan, event.heard, context);
    default:
      return event.type satisfies never;
  }
}

function press(plan: Plan, heard: Frames, context: StepContext): Step {
  if (plan.type === 'stopped') return context.hasLayers ? play(context) : countIn(context);
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

function play(context: StepContext): Step {
  const origin = frames(context.earliest + context.leadFrames);
  return { plan: { type: 'running', startsAt: context.earliest, origin, passes: [] }, effects: [] };
}

function countIn(context: StepContext): Step {
  const { grid, earliest, passBars, nextPass } = context;
  const pass: Pass = { number: nextPass, startBar: bars(0), endBar: passBars, over: false };
  const origin = frames(earliest - grid.lineOf(bars(-context.countIn)));
  return {
    plan: { type: 'running', startsAt: earliest, origin, passes: [pass] },
    effects: [{ type: 'begin', pass }],
  };
}

function layer(plan: RunningPlan, heard: Frames, context: StepContext): Step {
  const startBar = bars(Math.max(0, lineForStart(subtractFrames(heard, plan.origin), context.grid)));
  const endBar = context.passBars === null ? null : bars(startBar + context.passBars);
  const pass: Pass = { number: context.nextPass, startBar, endBar, over: context.hasLayers };
  return { plan: { ...plan, passes: [...plan.passes, pass] }, effects: [{ type: 'begin', pass }] };
}

function closeOrGoRound(plan: RunningPlan, heard: Frames, context: StepContext): Step {
  const pass = passAt(plan, heard, context.grid);
  if (pass === null) return { plan, effects: [] };
  if (pass.endBar === null) {
    return close(plan, pass, finishingLine(plan, pass, heard, context.grid));
  }
  const following = plan.passes[plan.passes.indexOf(pass) + 1];
  if (following !== undefined) return dropPass(plan, following);
  const length = context.passBars ?? pass.endBar - pass.startBar;
  const next: Pass = {
    number: context.nextPass,
    startBar: pass.endBar,
    endBar: bars(pass.endBar + length),
    over: true,
  };
  return { plan: { ...plan, passes: [...plan.passes, next] }, effects: [{ type: 'begin', pass: next }] };
}

function finishingLine(plan: RunningPlan, pass: Pass, heard: Frames, grid: Grid): Bars {
  const nearest = lineForFinish(subtractFrames(heard, plan.origin), grid, { fromBar: pass.startBar });
  return bars(Math.min(nearest, pass.startBar + LONGEST_PASS));
}

function close(plan: RunningPlan, pass: Pass, endBar: Bars): Step {
  const passes = plan.passes.map((each) => (each === pass ? { ...pass, endBar } : each));
  return { plan: { ...plan, passes }, effects: [{ type: 'close', number: pass.number, endBar }] };
}

function dropPass(plan: RunningPlan, pass: Pass): Step {
  return {
    plan: { ...plan, passes: plan.passes.filter((each) => each !== pass) },
    effects: [{ type: 'drop', number: pass.number }],
  };
}

/** The newest pass goes, even one that has closed but is not yet captured whole; the first one takes the beat along. */
function takeBack(plan: Plan, heard: Frames, context: StepContext): Step {
  const newest = plan.type === 'running' ? plan.passes.at(-1) : undefined;
  if (plan.type === 'stopped' || newest === undefined) {
    return { plan, effects: [{ type: 'refuse', why: 'nothing-to-take-back' }] };
  }
  const dropped = dropPass(plan, newest);
  if (newest.over || stateAt(dropped.plan, heard, context.grid) !== 'playing') return dropped;
  return { plan: { type: 'stopped', at: context.earliest }, effects: dropped.effects };
}

/**
 * Passes that had reached their last line, to the nearest bar, are kept; an open one is closed at the nearest line once
 * half a bar has been played. Whatever else was being recorded is dropped.
 */
function stop(plan: Plan, heard: Frames, context: StepContext): Step {
  if (plan.type === 'stopped') return { plan, effects: [] };
  const { grid, earliest } = context;
  const position = subtractFrames(heard, plan.origin);
  const effects = plan.passes.map((pass): TransportEffect => {
    const drop: TransportEffect = { type: 'drop', number: pass.number };
    const firstBar = grid.lineOf(bars(pass.startBar + 1)) - grid.lineOf(pass.startBar);
    if (position - grid.lineOf(pass.startBar) < firstBar / 2) return drop;
    const nearest = finishingLine(plan, pass, heard, grid);
    if (pass.endBar !== null && nearest < pass.endBar) return drop;
    return { type: 'close', number: pass.number, endBar: pass.endBar ?? nearest };
  });
  return { plan: { type: 'stopped', at: earliest }, effects };
}
