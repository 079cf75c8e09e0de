/**
 * The table of stretches: bars to frames and back over the whole of a song's time, exact at every bar line. Immutable, built
 * once for each edit; looking up is a binary search over runs of equal bars, so a steady song of any length costs one row.
 *
 * Before line 0 the table goes on backwards in the metre and tempo with which the first measured stretch begins (that is
 * where a count-in lies); after its last bar it goes on for ever in those of its last steady stretch.
 */
import { success, type Result } from '../result/result.js';
import { bars, frames, QuantityError } from '../units/index.js';
import type { Bars, Frames, SampleRate } from '../units/index.js';
import type { Grid } from './grid.js';
import type { Metre } from './metre.js';
import { feltBeats } from './metres.js';
import { barInRow, lineInRow, offsetInRow, pulseInRow, pulsesInRow } from './stretch-rows.js';
import { rowOfBar, rowOfFrame, rowsOf, type Rows } from './stretch-rows.js';
import { firstStandstill, plainBar, runsOf } from './stretch-runs.js';
import { checkStretches, type SteadyStretch, type Stretch, type StretchRefusal } from './stretch.js';

/**
 * As a `Grid` it knows every bar and frame, but nothing behind a standstill: `lineOf` throws a {QuantityError} there,
 * `placeOf` stays in the last pulse before it, `beatsOf` gives what comes before it. In free time `beatsOf` is the line and
 * the length.
 */
export interface StretchTable extends Grid {
  readonly stretches: readonly Stretch[];
  readonly rate: SampleRate;
  /** Bars in the list. */
  readonly bars: Bars;
  /** Frames of those bars; null while one of them stands still until a press. */
  readonly frames: Frames | null;
  /** Where time stands still until a press: the bar, and the frame from which it does. */
  readonly standstill: { readonly bar: Bars; readonly from: Frames } | null;
  /** The frame of each pulse of a bar, those after a standstill left out. One pulse in free time. */
  pulseFrames(bar: Bars): readonly Frames[];
  /** Null in free time, where nothing clicks. */
  metreOf(bar: Bars): Metre | null;
}

/** Builds the table, or says why the list is refused. */
export function buildStretches(stretches: readonly Stretch[], rate: SampleRate): Result<StretchTable, StretchRefusal> {
  const checked = checkStretches(stretches, rate);
  return checked.ok ? success(tableOf(checked.value, rate)) : checked;
}

/**
 * Ends the standstill of a table at a frame (a press), and gives the table of what is known then: the hold or the free time
 * has become a length like any other. A frame before its start ends it at once (free time after one frame). A table without
 * a standstill comes back as it is.
 */
export function endStandstill(table: StretchTable, at: Frames): StretchTable {
  const place = firstStandstill(table.stretches);
  if (place === null || table.standstill === null) return table;
  const lasted = Math.max(0, at - table.standstill.from);
  const ended = table.stretches.map((stretch, i): Stretch => {
    if (i !== place.stretch) return stretch;
    if (stretch.type === 'free') return { ...stretch, frames: frames(Math.max(1, lasted)) };
    const longer = { type: 'frames', frames: frames(lasted) } as const;
    return { ...stretch, holds: stretch.holds.map((hold, h) => (h === place.hold ? { ...hold, longer } : hold)) };
  });
  return tableOf(ended, table.rate);
}

function tableOf(stretches: readonly Stretch[], rate: SampleRate): StretchTable {
  const measured = stretches.find((stretch) => stretch.type !== 'free');
  const steady = stretches.findLast((stretch): stretch is SteadyStretch => stretch.type === 'steady');
  if (measured === undefined || steady === undefined) {
    throw new QuantityError('Got stretches none of which is steady when expected at least one.');
  }
  const runs = stretches.flatMap((stretch) => runsOf(stretch, rate));
  const still = runs.findIndex((run) => run.standstill !== null);
  const known = still < 0 ? runs : runs.slice(0, still + 1);
  const rows = rowsOf(plainBar(measured, rate), known, still < 0 ? plainBar(steady, rate) : null);
  const standsFrom = runs[still]?.standstill ?? null;
  const total = bars(stretches.reduce((sum, stretch) => sum + (stretch.type === 'free' ? 1 : stretch.bars), 0));
  return Object.freeze({
    stretches: [...stretches],
    rate,
    bars: total,
    frames: still < 0 ? lineOf(rows, total) : null,
    standstill: standsFrom === null ? null : standstillAt(rows, standsFrom),
    lineOf: (bar: Bars) => lineOf(rows, bar),
    placeOf: (frame: Frames) => placeOf(rows, frame),
    beatsOf: (bar: Bars) => beatsOf(rows, bar),
    pulseFrames: (bar: Bars) => pulseFrames(rows, bar),
    metreOf: (bar: Bars) => rows.metres[rowOfBar(rows, bar)] ?? null,
  });
}

function lineOf(rows: Rows, bar: Bars): Frames {
  const line = lineInRow(rows, rowOfBar(rows, bar), bar);
  if (line === Infinity) throw new QuantityError(`Got bar ${bar} when expected one that is not behind a standstill.`);
  return frames(line);
}

function placeOf(rows: Rows, frame: Frames): ReturnType<Grid['placeOf']> {
  const row = rowOfFrame(rows, frame);
  const bar = barInRow(rows, row, frame);
  const frameInBar = frame - lineInRow(rows, row, bar);
  return { bar: bars(bar), pulse: pulseInRow(rows, row, frameInBar), frameInBar: frames(frameInBar) };
}

function beatsOf(rows: Rows, bar: Bars): readonly Frames[] {
  const row = rowOfBar(rows, bar);
  const metre = rows.metres[row] ?? null;
  const starts = metre === null ? [0] : feltBeats(metre).map((beat) => beat.start);
  return [...starts, pulsesInRow(rows, row)]
    .map((pulse) => offsetInRow(rows, row, pulse))
    .filter(isKnown)
    .map(frames);
}

function pulseFrames(rows: Rows, bar: Bars): readonly Frames[] {
  const row = rowOfBar(rows, bar);
  const line = lineOf(rows, bar);
  const offsets = Array.from({ length: pulsesInRow(rows, row) }, (_, pulse) => offsetInRow(rows, row, pulse));
  return offsets.filter(isKnown).map((offset) => frames(line + offset));
}

/** The last row is the bar that stands still, from `offset` frames after its line. */
function standstillAt(rows: Rows, offset: number): { readonly bar: Bars; readonly from: Frames } {
  const bar = bars(rows.firstBar.at(-1) ?? 0);
  return { bar, from: frames(lineOf(rows, bar) + offset) };
}

const isKnown = (offset: number): boolean => offset < Infinity;
