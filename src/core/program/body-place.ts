/**
 * Where a body lies over the bars of a looped section, and after how many frames it comes again. Pure.
 *
 * A body sounds where it was played: over the very bars [startBar, startBar + bars). Where bars of its length follow each
 * other evenly it comes again at once, as in a section of equal bars, whatever its length. Where they don't (a rit., an odd
 * bar, a fermata lies in some of them and not in others) it can't come again sooner than those bars do: in as few rounds
 * of the section as hold it. So it never leaves the lines that it was played to.
 */
import type { Take } from '../song/song.js';
import type { Bars } from '../units/index.js';
import { bars } from '../units/index.js';
import type { ProgramGrid } from './program-grid.js';

export type Body = Pick<Take, 'startBar' | 'bars' | 'bodyFrames'>;

export interface BodyPlace {
  /** Song position at which it begins: at line 0, or before it and under way there. */
  readonly start: number;
  /** Frames from one beginning to the next, and the same in bars. At least the body, but for one that has other bars. */
  readonly period: number;
  readonly bars: Bars;
}

/** @param grid of a program that is a loop. */
export function bodyPlace(grid: ProgramGrid, body: Body): BodyPlace {
  const round = Math.max(1, grid.loopBars);
  const count = followsItself(grid, body, round) ? body.bars : Math.ceil(body.bars / round) * round;
  const line = grid.lineAt(body.startBar);
  const period = grid.lineAt(body.startBar + count) - line;
  return { start: line - Math.ceil(body.startBar / count) * period, period, bars: bars(count) };
}

/** Whether body after body, every one begins and ends at lines that are as far from each other as the first. */
function followsItself(grid: ProgramGrid, { startBar, bars: length, bodyFrames }: Body, round: number): boolean {
  let bar: number = startBar;
  do {
    if (grid.lineAt(bar + length) - grid.lineAt(bar) !== bodyFrames) return false;
    bar += length;
  } while ((bar - startBar) % round !== 0);
  return true;
}
