/**
 * A take in pieces: bars whose audio lies in the recording in one stretch. Nearly every take is one; where its alignment
 * says that something moved the audio under the pass, a new piece begins at that bar's line, so that every bar sounds
 * where it was played. Pure.
 */
import { movesOf } from '../song/moves.js';
import type { Take } from '../song/song.js';
import type { Frames } from '../units/index.js';
import { frames, nearestFrame } from '../units/index.js';
import type { ProgramGrid } from './program-grid.js';

export interface TakeRun {
  /** Its first bar, counted from the take's first. */
  readonly fromBar: number;
  /** Frames from the take's first line to the run's. */
  readonly into: Frames;
  /** Its first frame in the recording. It may lie before the recording's beginning, and its last frame behind the end. */
  readonly bodyStart: Frames;
  readonly bodyFrames: Frames;
}

/** What of a take says where its bars are. */
export type Placed = Pick<Take, 'alignment' | 'bars' | 'startBar' | 'bodyStart' | 'bodyFrames'>;

/** In order, at least one; together they are as long as the body. @param grid the bars that the take lies over. */
export function runsOfTake(take: Placed, grid: ProgramGrid): readonly TakeRun[] {
  const moves = movesOf(take);
  const lines = [...moves.map(({ fromBar }) => lineInto(take, grid, fromBar)), take.bodyFrames];
  return moves.flatMap(({ fromBar, shift }, index) => {
    const into = frames(lines[index] ?? 0);
    const bodyFrames = frames((lines[index + 1] ?? 0) - into);
    return bodyFrames > 0 ? [{ fromBar, into, bodyStart: frames(take.bodyStart + into + shift), bodyFrames }] : [];
  });
}

/** Frames from a take's first line to the line of one of its bars; over bars of another length, the same part of the body. */
function lineInto(take: Placed, grid: ProgramGrid, bar: number): number {
  const { startBar, bars, bodyFrames } = take;
  const first = grid.lineAt(startBar);
  if (grid.lineAt(startBar + bars) - first === bodyFrames) return grid.lineAt(startBar + bar) - first;
  return nearestFrame((bodyFrames * bar) / bars);
}
