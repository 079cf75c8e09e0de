/**
 * Where the bar lines of a program that comes while something plays take over from those in use. Pure; runs while a
 * command is handled. The rule, in this order:
 *
 * - The same bar lines: nothing changes, also where a standstill in them was ended or others had been in use before.
 * - The click alone plays: at once, at the same part of the same bar (`sameInstant`).
 * - Voices go on and keep their bodies, and nothing is being recorded: their bars are read anew, at once; what sounds
 *   stays where it is.
 * - Else from a bar line on (`barForChange`); up to it nothing moves.
 */
import { lineNotBefore } from '../meter/presses.js';
import { ProgramGrid } from '../program/program-grid.js';
import type { Program } from '../program/program.js';
import { STANDSTILL, VOICE_FIELDS, Voice } from '../program/program.js';
import { endStandstill } from '../program/stretch-changes.js';
import type { RunningPlan } from '../transport/plan.js';
import { frames, nearestFrame } from '../units/index.js';

/** Whether two arrays of stretches say the same. */
export const sameBars = (a: Float64Array, b: Float64Array): boolean =>
  a.length === b.length && a.every((value, i) => value === b[i]);

/** Whether a position comes without a press. */
export const isReachable = (position: number): boolean => position < STANDSTILL / 2;

/**
 * The position in `after` that has as much of the same bar behind it. Where time stood still it does so no longer, unless
 * it does in `after` too: the next bar begins.
 */
export function sameInstant(before: ProgramGrid, after: ProgramGrid, position: number): number {
  const bar = before.barAt(position);
  const into = position - before.lineAt(bar);
  const length = before.barFrames(bar);
  const there = after.barFrames(bar);
  if (length < STANDSTILL && there < STANDSTILL) return nearestFrame(after.lineAt(bar) + (into / length) * there);
  return there < STANDSTILL ? after.lineAt(bar + 1) : after.lineAt(bar) + into;
}

/**
 * The bar from which other bar lines hold: the first one whose line can still be changed, but not before the end of a
 * pass that has its closing line, nor before the beginning of one that waits: a pass keeps the bars it was begun over.
 * @param earliest position that can still be changed.
 */
export function barForChange(grid: ProgramGrid, { passes }: RunningPlan, earliest: number): number {
  const promised = passes.map(({ startBar, endBar }) => endBar ?? startBar);
  return Math.max(0, lineNotBefore(frames(earliest), grid), ...promised);
}

/** A standstill that was ended: what a program has at or behind a position comes `by` frames later; `by` is below 0. */
export interface Ending {
  readonly behind: number;
  readonly by: number;
}

/** The program as it is played when time has gone on. */
export function movedUp(program: Program, { behind, by }: Ending): Program {
  const voices = program.voices.slice();
  for (let row = 0; row < voices.length; row += VOICE_FIELDS) {
    for (const column of [row + Voice.start, row + Voice.end]) {
      const position = voices[column] ?? 0;
      if (position >= behind) voices[column] = position + by;
    }
  }
  const { pageFrames } = program;
  return { ...program, voices, pageFrames: pageFrames >= behind ? pageFrames + by : pageFrames };
}

/**
 * Bar lines as they are where we are: standstills up to a bar lasted as long as those that were ended, in order.
 * @returns the endings in the positions of `grid`.
 */
export function endingsUpTo(
  grid: ProgramGrid,
  ended: readonly Ending[],
  bar: number,
): { readonly grid: ProgramGrid; readonly endings: readonly Ending[] } {
  const endings: Ending[] = [];
  let now = grid;
  for (const { by } of ended) {
    const { standstill } = now;
    if (standstill === null || standstill.bar > bar) break;
    endings.push({ behind: standstill.from + STANDSTILL, by });
    now = new ProgramGrid(endStandstill(now, standstill.from + by + STANDSTILL));
  }
  return { grid: now, endings };
}
