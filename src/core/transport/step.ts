/**
 * The transport as a pure function: a plan, what the player did and when it was heard, to the plan that follows and
 * what the engine has to do about it. Source of the rules: the one-switch table and the press rules in DEVELOPERS.md.
 */
import type { Grid } from '../meter/grid.js';
import { lineForFinish } from '../meter/presses.js';
import type { Bars, Frames } from '../units/index.js';
import { bars, frames, subtractFrames } from '../units/index.js';
import { finishingLine, passFrom, passesOnward, startingLine } from './passes.js';
import type { Pass, Plan, RunningPlan } from './plan.js';
import { passAt, stateAt } from './state-at.js';

export type TransportEvent =
  | { readonly type: 'press' | 'play' | 'stop' | 'take-back'; readonly heard: Frames }
  /** Keep the last `bars` whole bars of what was played, though nothing was being recorded. */
  | { readonly type: 'keep-that'; readonly heard: Frames; readonly bars: Bars }
  /** Play as if playing had begun at `origin`, which lies in the past: the loop that had no tempo has got one. */
  | { readonly type: 'join'; readonly origin: Frames };

export interface StepContext {
  readonly grid: Grid;
  /** First frame that can still be changed: what has been rendered, and two blocks. */
  readonly earliest: Frames;
  /** First heard frame whose input is still in the ring. */
  readonly oldest: Frames;
  readonly hasLayers: boolean;
  /** Length of a pass; null leaves the first one open. */
  readonly passBars: Bars | null;
  readonly countIn: Bars;
  /** The first press records at once, without count-in, tempo or bars. */
  readonly withoutTempo: boolean;
  readonly keepLayering: boolean;
  /** Layers that one pass fills: numbers it takes. */
  readonly parts: number;
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
  | { readonly type: 'begin-free'; readonly at: Frames }
  | { readonly type: 'end-free'; readonly from: Frames; readonly to: Frames }
  | { readonly type: 'drop-free' }
  /** Nothing plays: keep the last phrase as an idea. */
  | { readonly type: 'keep-phrase' }
  | {
      readonly type: 'refuse';
      readonly why: 'nothing-to-take-back' | 'not-in-the-ring' | 'no-whole-bar' | 'still-recording';
    };

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
    case 'keep-that':
      return keepThat(plan, event.heard, event.bars, context);
    case 'join':
      return join(plan, event.origin, context);
    default:
      return event satisfies never;
  }
}

/**
 * A pass has been captured whole and leaves the plan. Where layering is kept up, the pass that is running now is
 * followed by one more.
 */
export function withoutPass(plan: RunningPlan, number: number, context: Pick<StepContext, 'nextPass'>): Step {
  const passes = plan.passes.filter((pass) => pass.number !== number);
  const last = passes.at(-1);
  const onward = last?.keepsGoing === true && passes.length === 1 ? passesOnward(last, context.nextPass) : [];
  return {
    plan: { ...plan, passes: [...passes, ...onward] },
    effects: onward.map((pass) => ({ type: 'begin', pass })),
  };
}

function press(plan: Plan, heard: Frames, context: StepContext): Step {
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

function play(context: StepContext): Step {
  const origin = frames(context.earliest + context.leadFrames);
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

/** Only a closed loop is waited for: whoever has stopped or taken it back meanwhile is left in peace. */
function join(plan: Plan, origin: Frames, context: StepContext): Step {
  if (plan.type !== 'free' || plan.endsAt === null) return { plan, effects: [] };
  return { plan: { type: 'running', startsAt: context.earliest, origin, passes: [] }, effects: [] };
}

/** Over a click alone there is no loop yet: the line at which its first pass begins becomes line 0. */
function layer(plan: RunningPlan, heard: Frames, context: StepContext): Step {
  const startBar = startingLine(plan, heard, context.grid);
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
  if (plan.passes.indexOf(pass) < plan.passes.length - 1) return doNotGoRound(plan, pass);
  const next = passesOnward({ ...pass, keepsGoing: context.keepLayering }, context.nextPass, context.passBars);
  return { plan: { ...plan, passes: [...plan.passes, ...next] }, effects: begun(next) };
}

function close(plan: RunningPlan, pass: Pass, endBar: Bars, context: StepContext): Step {
  const closed = { ...pass, endBar };
  const onward = pass.keepsGoing ? passesOnward(closed, context.nextPass) : [];
  const passes = [...plan.passes.map((each) => (each === pass ? closed : each)), ...onward];
  return {
    plan: { ...plan, passes },
    effects: [{ type: 'close', number: pass.number, endBar }, ...begun(onward)],
  };
}

function doNotGoRound(plan: RunningPlan, pass: Pass): Step {
  const kept = plan.passes.slice(0, plan.passes.indexOf(pass) + 1);
  const dropped = plan.passes.slice(kept.length);
  return {
    plan: { ...plan, passes: kept.map((each) => (each === pass ? { ...pass, keepsGoing: false } : each)) },
    effects: dropped.map(({ number }) => ({ type: 'drop', number })),
  };
}

/** The newest pass goes, even one that has closed but is not yet captured whole; the first one takes the beat along. */
function takeBack(plan: Plan, heard: Frames, context: StepContext): Step {
  if (plan.type === 'free') {
    return { plan: { type: 'stopped', at: context.earliest }, effects: [{ type: 'drop-free' }] };
  }
  const newest = plan.type === 'running' ? plan.passes.at(-1) : undefined;
  if (plan.type === 'stopped' || newest === undefined) {
    return { plan, effects: [{ type: 'refuse', why: 'nothing-to-take-back' }] };
  }
  const passes = plan.passes.slice(0, -1).map((each) => ({ ...each, keepsGoing: false }));
  const without: RunningPlan = { ...plan, passes };
  const effects: TransportEffect[] = [{ type: 'drop', number: newest.number }];
  if (newest.over || stateAt(without, heard, context.grid) !== 'playing') return { plan: without, effects };
  return { plan: { type: 'stopped', at: context.earliest }, effects };
}

/**
 * Passes that had reached their last line, to the nearest bar, are kept; an open one is closed at the nearest line once
 * half a bar has been played. Whatever else was being recorded is dropped.
 */
function stop(plan: Plan, heard: Frames, context: StepContext): Step {
  const stopped: Plan = { type: 'stopped', at: context.earliest };
  if (plan.type === 'stopped') return { plan, effects: [] };
  if (plan.type === 'free') return { plan: stopped, effects: [{ type: 'drop-free' }] };
  const { grid } = context;
  const effects = plan.passes.map((pass): TransportEffect => {
    const drop: TransportEffect = { type: 'drop', number: pass.number };
    const line = grid.lineOf(pass.startBar);
    const firstBar = grid.lineOf(bars(pass.startBar + 1)) - line;
    if (heard - plan.origin - line < firstBar / 2) return drop;
    const nearest = finishingLine(plan, pass, heard, grid);
    if (pass.endBar !== null && nearest < pass.endBar) return drop;
    return { type: 'close', number: pass.number, endBar: pass.endBar ?? nearest };
  });
  return { plan: stopped, effects };
}

/**
 * While something plays, a pass in the past: the last whole bars, up to the line nearest to the press, as many as the
 * ring holds. When nothing plays, the last phrase. What is being recorded is kept anyway.
 */
function keepThat(plan: Plan, heard: Frames, length: Bars, context: StepContext): Step {
  if (plan.type === 'stopped') return { plan, effects: [{ type: 'keep-phrase' }] };
  const { grid } = context;
  if (plan.type === 'free' || plan.passes.length > 0) return refused(plan, 'still-recording');
  const sinceOrigin = subtractFrames(heard, plan.origin);
  const endBar = lineForFinish(sinceOrigin, grid, { fromBar: bars(0) });
  if (2 * sinceOrigin < grid.lineOf(bars(1))) return refused(plan, 'no-whole-bar');
  let startBar = bars(Math.max(0, endBar - length));
  while (startBar < endBar && plan.origin + grid.lineOf(startBar) < context.oldest) startBar = bars(startBar + 1);
  if (startBar === endBar) return refused(plan, 'not-in-the-ring');
  const pass: Pass = { number: context.nextPass, startBar, endBar, over: context.hasLayers, keepsGoing: false };
  return { plan: { ...plan, passes: [pass] }, effects: begun([pass]) };
}

const refused = (plan: Plan, why: Extract<TransportEffect, { type: 'refuse' }>['why']): Step => ({
  plan,
  effects: [{ type: 'refuse', why }],
});

const begun = (passes: readonly Pass[]): TransportEffect[] => passes.map((pass) => ({ type: 'begin', pass }));
