/** The plan as a player should see it: where we are, what comes next, what the switch would do. Pure. */
import type { Grid } from '../core/meter/grid.js';
import type { FreePlan, Pass, Plan, RunningPlan } from '../core/transport/plan.js';
import { LONGEST_PASS } from '../core/transport/passes.js';
import { goesRound, passAt, stateAt } from '../core/transport/state-at.js';
import type { Bars, Frames } from '../core/units/index.js';
import { subtractFrames } from '../core/units/index.js';
import type { Next, SwitchMeaning, TransportView } from './snapshot.js';

/** A pass of open length is said to end so many bars before it does: time to finish a phrase. */
const WARNED_BARS = 4;

export interface ViewContext {
  readonly grid: Grid;
  readonly hasLayers: boolean;
  /** Whether a first pass records without a tempo. */
  readonly isFree: boolean;
  /** Length of the section in hand; null while it is open. */
  readonly sectionBars: Bars | null;
  readonly nextLayerName: string;
}

/** Which bars are being gone through: the loop, the pass, or the count-in. Bars count from the plan's origin. */
export interface Span {
  readonly firstBar: number;
  /** Null while the length is open. */
  readonly bars: number | null;
}

export function transportView(plan: Plan, heard: Frames, context: ViewContext): TransportView {
  if (plan.type === 'stopped') {
    const pressMeans = context.hasLayers ? 'play' : context.isFree ? 'record-freely' : 'record';
    return { state: 'stopped', bar: null, bars: null, layerName: null, next: 'nothing', pressMeans };
  }
  if (plan.type === 'free') return freeView(plan, context);
  const state = stateAt(plan, heard, context.grid);
  const pass = passAt(plan, heard, context.grid);
  const span = spanAt(plan, heard, context);
  const bar = context.grid.placeOf(subtractFrames(heard, plan.origin)).bar;
  return {
    state,
    bar: Math.max(1, bar - span.firstBar + 1),
    bars: span.bars,
    layerName: pass === null ? null : context.nextLayerName,
    next: nextOf(state, pass, plan, bar),
    pressMeans: meaningOf(state, pass, plan),
  };
}

/** Without a tempo there are no bars to count. */
function freeView(plan: FreePlan, context: ViewContext): TransportView {
  const next = plan.endsAt === null ? 'free-goes-on' : 'end-is-found';
  return {
    state: 'recording',
    bar: null,
    bars: null,
    layerName: context.nextLayerName,
    next,
    pressMeans: 'close-the-loop',
  };
}

export function spanAt(plan: RunningPlan, heard: Frames, context: ViewContext): Span {
  const { grid, sectionBars } = context;
  const state = stateAt(plan, heard, grid);
  const pass = passAt(plan, heard, grid);
  if (state === 'counting-in') {
    const counted = -grid.placeOf(subtractFrames(plan.startsAt, plan.origin)).bar;
    return { firstBar: -counted, bars: counted };
  }
  // A pass that is as long as the section is counted as the section is, wherever in it the pass began.
  const inSection = pass?.endBar != null && pass.endBar - pass.startBar === sectionBars;
  if (pass !== null && !inSection && (state === 'recording' || state === 'layering')) {
    return { firstBar: pass.startBar, bars: pass.endBar === null ? null : pass.endBar - pass.startBar };
  }
  const loop = sectionBars ?? closedLength(plan);
  const bar = Math.max(0, grid.placeOf(subtractFrames(heard, plan.origin)).bar);
  return { firstBar: loop === null ? 0 : Math.floor(bar / loop) * loop, bars: loop };
}

/** A first pass that is closed but not yet a layer already says how long the loop is. */
function closedLength(plan: RunningPlan): number | null {
  const first = plan.passes[0];
  return first?.endBar == null ? null : first.endBar - first.startBar;
}

function nextOf(state: TransportView['state'], pass: Pass | null, plan: RunningPlan, bar: number): Next {
  switch (state) {
    case 'stopped':
      return 'nothing';
    case 'counting-in':
      return 'recording-starts';
    case 'waiting':
      return 'layering-starts';
    case 'playing':
      return 'plays-on';
    case 'recording':
    case 'layering':
      if (pass?.endBar == null) return isNearlyLongest(pass, bar) ? 'closes-by-itself' : 'recording-goes-on';
      if (goesRound(pass, plan)) return 'goes-round-again';
      return state === 'recording' ? 'closing-at-the-line' : 'loop-plays';
  }
}

function meaningOf(state: TransportView['state'], pass: Pass | null, plan: RunningPlan): SwitchMeaning {
  switch (state) {
    case 'stopped':
      return 'play';
    case 'counting-in':
    case 'waiting':
      return 'take-it-back';
    case 'playing':
      return 'new-layer';
    case 'recording':
    case 'layering':
      if (pass?.endBar == null) return 'close-the-loop';
      return goesRound(pass, plan) ? 'do-not-go-round' : 'go-round-again';
  }
}

const isNearlyLongest = (pass: Pass | null, bar: number): boolean =>
  pass !== null && bar - pass.startBar >= LONGEST_PASS - WARNED_BARS;
