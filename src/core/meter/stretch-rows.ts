/**
 * Runs of equal bars as rows of typed arrays, searched by halving. Plain numbers inside: frames and bars get their units
 * in the table (stretches.ts). Row 0 lies before line 0 and goes on backwards for ever; the last row goes on for ever, or
 * is one bar that stands still.
 */
import type { Metre } from './metre.js';
import type { Run } from './stretch-runs.js';

export interface Rows {
  /** First bar and first frame that belong to each row; −Infinity in row 0. */
  readonly firstBar: Float64Array;
  readonly firstFrame: Float64Array;
  /** Where each row's offsets start in `offsets`, and how many pulses each of its bars has. */
  readonly offsetsFrom: Uint32Array;
  readonly pulses: Uint32Array;
  /** Of row after row: frames from the line to each pulse, and last to the next line (Infinity in a standstill). */
  readonly offsets: Float64Array;
  readonly metres: readonly (Metre | null)[];
}

export function rowsOf(before: Run, listed: readonly Run[], after: Run | null): Rows {
  const runs = [before, ...listed, ...(after === null ? [] : [after])];
  const firstBar = new Float64Array(runs.length).fill(-Infinity, 0, 1);
  const firstFrame = firstBar.slice();
  const offsetsFrom = new Uint32Array(runs.length);
  let bar = 0;
  let frame = 0;
  let offset = before.offsets.length;
  for (const [i, run] of runs.entries()) {
    if (i === 0) continue;
    firstBar[i] = bar;
    firstFrame[i] = frame;
    offsetsFrom[i] = offset;
    bar += run.bars;
    frame += run.bars * (run.offsets.at(-1) ?? 0);
    offset += run.offsets.length;
  }
  return {
    firstBar,
    firstFrame,
    offsetsFrom,
    pulses: Uint32Array.from(runs, (run) => run.offsets.length - 1),
    offsets: Float64Array.from(runs.flatMap((run) => run.offsets)),
    metres: runs.map((run) => run.metre),
  };
}

export const rowOfBar = (rows: Rows, bar: number): number => lastNotAfter(rows.firstBar, bar);
export const rowOfFrame = (rows: Rows, frame: number): number => lastNotAfter(rows.firstFrame, frame);

/** Frame of a bar line; Infinity behind a standstill. */
export function lineInRow(rows: Rows, row: number, bar: number): number {
  const { anchorBar, anchorFrame } = anchorOf(rows, row);
  return bar === anchorBar
    ? anchorFrame
    : anchorFrame + (bar - anchorBar) * offsetInRow(rows, row, pulsesInRow(rows, row));
}

/** The bar of a row in which a frame lies. */
export function barInRow(rows: Rows, row: number, frame: number): number {
  const { anchorBar, anchorFrame } = anchorOf(rows, row);
  return anchorBar + Math.floor((frame - anchorFrame) / offsetInRow(rows, row, pulsesInRow(rows, row)));
}

export const pulsesInRow = (rows: Rows, row: number): number => rows.pulses[row] ?? 0;

/** Frames from a line of the row to a pulse of its bars; for the pulse after the last, the length of a bar. */
export const offsetInRow = (rows: Rows, row: number, pulse: number): number =>
  rows.offsets[(rows.offsetsFrom[row] ?? 0) + pulse] ?? 0;

/** The pulse that has begun last at a frame of a bar of the row. */
export function pulseInRow(rows: Rows, row: number, frameInBar: number): number {
  let pulse = pulsesInRow(rows, row) - 1;
  while (pulse > 0 && offsetInRow(rows, row, pulse) > frameInBar) pulse -= 1;
  return pulse;
}

/** A line from which the bars of a row are counted: its first, and line 0 for the row before it. */
const anchorOf = (rows: Rows, row: number): { anchorBar: number; anchorFrame: number } =>
  row === 0
    ? { anchorBar: 0, anchorFrame: 0 }
    : { anchorBar: rows.firstBar[row] ?? 0, anchorFrame: rows.firstFrame[row] ?? 0 };

/** Index of the last value that is not greater; the values rise strictly and the first is −Infinity. */
function lastNotAfter(values: Float64Array, value: number): number {
  let low = 0;
  let high = values.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >>> 1;
    if ((values[middle] ?? Infinity) <= value) low = middle;
    else high = middle - 1;
  }
  return low;
}
