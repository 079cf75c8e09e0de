/**
 * What becomes of bar lines while playing: a standstill ends at a press, other bar lines hold from a line on. Pure; both
 * give a new array, so that page and audio thread come to the same one. They allocate: between blocks only.
 */
import { ProgramGrid } from './program-grid.js';
import { STANDSTILL, STRETCH_FIELDS, STRETCH_HEAD_FIELDS, Stretch, StretchHead } from './program.js';
import { layOutBars, type EqualBars } from './stretch-arrays.js';

/**
 * Bars before a change that stay exact: the longest pass is 64 bars, and nothing asks for what lies further back. What is
 * before counts back evenly.
 */
const KEPT_BARS = 256;

/**
 * Ends the first standstill at a position: what is behind moves up, by whole frames. A position before its beginning ends
 * it at once (free time after one frame). Without a standstill the array comes back as it is.
 */
export function endStandstill(grid: ProgramGrid, at: number): Float64Array<ArrayBuffer> {
  const { standstill, stretches } = grid;
  if (standstill === null) return stretches;
  const { bar, pulse, from } = standstill;
  const least = grid.isBeat(bar, 0) ? 0 : 1;
  const by = Math.max(least, at - from) - STANDSTILL;
  const firstBar = firstBarOf(grid);
  const end = grid.loopBars === 0 ? lastRowBar(grid) + 1 : grid.loopBar + grid.loopBars;
  const ended = (run: EqualBars): EqualBars => ({
    ...run,
    offsets: run.offsets.map((offset, j) => (j < pulse ? offset : offset + by)),
  });
  return layOutBars({
    before: grid.barsFrom(firstBar - 1),
    firstBar,
    firstFrame: grid.lineAt(firstBar),
    runs: [
      ...barsBetween(grid, firstBar, bar),
      ...barsBetween(grid, bar, bar + 1).map(ended),
      ...barsBetween(grid, bar + 1, end),
    ],
    loopBars: grid.loopBars,
    endBar: grid.endBar,
  });
}

/**
 * The bar lines of `before` up to the line of `bar`, from there on the bars of `after`: its bar `bar` first. Lines up to
 * that one stay where they are; bars keep their numbers.
 * @param bar at least 0.
 */
export function spliceBars(before: ProgramGrid, after: ProgramGrid, bar: number): Float64Array<ArrayBuffer> {
  const firstBar = Math.max(firstBarOf(before), bar - KEPT_BARS);
  const end = after.loopBars === 0 ? Math.max(bar, lastRowBar(after)) + 1 : nextRound(after, bar) + after.loopBars;
  return layOutBars({
    before: before.barsFrom(firstBar - 1),
    firstBar,
    firstFrame: before.lineAt(firstBar),
    runs: [...barsBetween(before, firstBar, bar), ...barsBetween(after, bar, end)],
    loopBars: after.loopBars,
    endBar: after.endBar,
  });
}

/** The first bar whose place is exact: of the first row that is not counted backwards. */
const firstBarOf = ({ stretches }: ProgramGrid): number =>
  stretches[STRETCH_HEAD_FIELDS + STRETCH_FIELDS + Stretch.startBar] ?? 0;

function lastRowBar({ stretches }: ProgramGrid): number {
  const last = (stretches[StretchHead.rows] ?? 1) - 1;
  return stretches[STRETCH_HEAD_FIELDS + last * STRETCH_FIELDS + Stretch.startBar] ?? 0;
}

/** The first bar at or after `bar` that opens a round. */
function nextRound({ loopBar, loopBars }: ProgramGrid, bar: number): number {
  return bar <= loopBar ? loopBar : loopBar + Math.ceil((bar - loopBar) / loopBars) * loopBars;
}

function barsBetween(grid: ProgramGrid, from: number, to: number): readonly EqualBars[] {
  const runs: EqualBars[] = [];
  for (let bar = from; bar < to;) {
    const run = grid.barsFrom(bar);
    const count = Math.min(run.bars, to - bar);
    runs.push({ ...run, bars: count });
    bar += count;
  }
  return runs;
}
