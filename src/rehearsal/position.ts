/** Where we are, for one frame of the screen. Pure. */
import type { Plan } from '../core/transport/plan.js';
import { stateAt } from '../core/transport/state-at.js';
import type { Frames } from '../core/units/index.js';
import { subtractFrames } from '../core/units/index.js';
import type { Position } from './snapshot.js';
import type { ViewContext } from './transport-view.js';
import { spanAt } from './transport-view.js';

const NOWHERE = { through: null, bar: null, barPhase: 0, beat: 0, beatPhase: 0 } as const;

export function positionAt(plan: Plan, heard: Frames, context: ViewContext, inputPeak: number | null): Position {
  if (plan.type !== 'running' || heard < plan.startsAt) return { ...NOWHERE, inputPeak };
  const { grid } = context;
  const { bar, frameInBar } = grid.placeOf(subtractFrames(heard, plan.origin));
  const beats = grid.beatsOf(bar);
  const { beat, beatPhase } = beatAt(beats, frameInBar);
  const length = beats.at(-1) ?? 1;
  const barPhase = frameInBar / length;
  if (stateAt(plan, heard, grid) === 'counting-in' || bar < 0) {
    return { ...NOWHERE, barPhase, beat, beatPhase, inputPeak };
  }
  const span = spanAt(plan, heard, context);
  const barOfSpan = bar - span.firstBar;
  const through = span.bars === null ? null : (barOfSpan + barPhase) / span.bars;
  return { through, bar: barOfSpan, barPhase, beat, beatPhase, inputPeak };
}

/** @param beats frames from the line to each felt beat, and to the end of the bar. */
function beatAt(beats: readonly number[], frameInBar: number): { readonly beat: number; readonly beatPhase: number } {
  let beat = 0;
  while (beat < beats.length - 2 && frameInBar >= (beats[beat + 1] ?? Infinity)) beat++;
  const from = beats[beat] ?? 0;
  const to = beats[beat + 1] ?? from + 1;
  return { beat, beatPhase: (frameInBar - from) / (to - from) };
}
