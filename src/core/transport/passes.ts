/** Where passes begin and end, and how one leads to the next. Pure. */
import type { Grid } from '../meter/grid.js';
import { lineForFinish, lineForStart } from '../meter/presses.js';
import type { Bars, Frames } from '../units/index.js';
import { bars, subtractFrames } from '../units/index.js';
import type { Pass, RunningPlan } from './plan.js';

/** The longest pass: as long as a section can be. One of open length closes there by itself. */
export const LONGEST_PASS: Bars = bars(64);

export interface PassTerms {
  readonly nextPass: number;
  readonly parts: number;
  /** Null leaves the length open. */
  readonly passBars: Bars | null;
  readonly over: boolean;
  readonly keepLayering: boolean;
}

/** A pass from a line on; where layering is kept up and the length is known, also the one after it. */
export function passFrom(startBar: Bars, terms: PassTerms): readonly Pass[] {
  const endBar = terms.passBars === null ? null : bars(startBar + terms.passBars);
  const pass: Pass = {
    number: terms.nextPass,
    startBar,
    endBar,
    over: terms.over,
    keepsGoing: terms.keepLayering,
  };
  return pass.keepsGoing && endBar !== null ? [pass, ...passesOnward(pass, terms.nextPass + terms.parts)] : [pass];
}

/** The pass that follows a closed one, as long as it unless a length is given. Empty where its end is open. */
export function passesOnward(pass: Pass, number: number, length: Bars | null = null): readonly Pass[] {
  if (pass.endBar === null) return [];
  const endBar = bars(pass.endBar + (length ?? pass.endBar - pass.startBar));
  return [{ number, startBar: pass.endBar, endBar, over: true, keepsGoing: pass.keepsGoing }];
}

/** The line from which a press while playing records: up to so many beats ago, else the next. */
export const startingLine = (plan: RunningPlan, heard: Frames, grid: Grid, graceBeats: number): Bars =>
  bars(Math.max(0, lineForStart(subtractFrames(heard, plan.origin), grid, graceBeats)));

/** The line at which a press closes: the nearest, from one bar to LONGEST_PASS after the beginning. */
export function finishingLine(plan: RunningPlan, pass: Pick<Pass, 'startBar'>, heard: Frames, grid: Grid): Bars {
  const nearest = lineForFinish(subtractFrames(heard, plan.origin), grid, { fromBar: pass.startBar });
  return bars(Math.min(nearest, pass.startBar + LONGEST_PASS));
}
