/** What the tests of a program's bar lines start from. */
import fc from 'fast-check';
import { feltBeats } from '../../../src/core/meter/metres.js';
import type { Hold, Stretch } from '../../../src/core/meter/stretch.js';
import { ProgramGrid } from '../../../src/core/program/program-grid.js';
import { layOutBars, programStretches } from '../../../src/core/program/stretch-arrays.js';
import { bars, sampleRate, type SampleRate } from '../../../src/core/units/index.js';
import { stretchTable, type StretchTable } from '../../support/stretch-table.js';
import { anyStretches, free, STUDIO, untilPressed } from '../meter/given.js';

export const anyProgramRate = fc.constantFrom(...[44_100, 48_000, 96_000].map(sampleRate));

export const gridOf = (stretches: readonly Stretch[], rate: SampleRate = STUDIO, loop = false): ProgramGrid =>
  new ProgramGrid(programStretches(stretches, rate, loop));

export const tableOf = (stretches: readonly Stretch[], rate: SampleRate = STUDIO): StretchTable =>
  stretchTable(stretches, rate);

/** Lists with one to three places in them where time stands still until a press. */
export const anyStandingStretches = fc
  .tuple(anyStretches, fc.array(fc.nat(), { minLength: 1, maxLength: 3 }))
  .map(([list, picks]) => picks.reduce<readonly Stretch[]>(withStandstill, list));

/** Puts a fermata until pressed, or free time until pressed, somewhere; `pick` says where. */
function withStandstill(list: readonly Stretch[], pick: number): readonly Stretch[] {
  const at = pick % (list.length + 1);
  const stretch = list[at];
  if (stretch === undefined || stretch.type === 'free') return list.toSpliced(at, 0, free(null));
  const bar = Math.floor(pick / 7) % stretch.bars;
  const beat = Math.floor(pick / 3) % feltBeats(stretch.metre).length;
  const others = stretch.holds.filter((hold: Hold) => hold.bar !== bar || hold.beat !== beat);
  return list.with(at, { ...stretch, holds: [...others, untilPressed(bar, beat)] });
}

/** Every bar of a table and some before and after it. */
export const barsAround = (count: number, margin = 4): readonly ReturnType<typeof bars>[] =>
  Array.from({ length: count + 2 * margin }, (_, i) => bars(i - margin));

export const lines = (grid: ProgramGrid, count: number): readonly number[] =>
  Array.from({ length: count + 1 }, (_, bar) => grid.lineAt(bar));

/** A loop of bars of given lengths, felt in one: its lines are the sums of the lengths. */
export function gridOfBars(lengths: readonly number[]): ProgramGrid {
  const runs = lengths.map((length) => ({ bars: 1, beats: 1, groups: 0, offsets: [0, length] }));
  const before = runs[0] ?? { bars: 1, beats: 1, groups: 0, offsets: [0, 1] };
  const layout = { before, firstBar: 0, firstFrame: 0, runs, loopBars: lengths.length, endBar: Infinity };
  return new ProgramGrid(layOutBars(layout));
}
