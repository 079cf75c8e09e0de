/**
 * Which bar line a press means. Frames count from the grid's line 0 and are *heard* positions: what left the loudspeaker
 * when the player pressed. Where the line can no longer be rendered, the caller takes `lineNotBefore` what can.
 */
import { bars, framesFromMilliseconds, milliseconds } from '../units/index.js';
import type { Bars, Frames, Milliseconds, SampleRate } from '../units/index.js';
import type { Grid } from './grid.js';

/** How presses are taken. */
export interface PressRules {
  /** A second press sooner than this after an accepted one is ignored. */
  readonly guard: Milliseconds;
  /** A press up to so many felt beats after a bar line starts a pass at that line; 0 or more, fractions allowed. */
  readonly graceBeats: number;
}

export const PRESS_RULES: PressRules = { guard: milliseconds(300), graceBeats: 1 };
/** Own choice: whoever taps twice in two seconds means it. */
export const MAX_PRESS_GUARD: Milliseconds = milliseconds(2000);
/** Own choice: as many beats as most bars have; a grace never reaches into a bar's last half beat anyway. */
export const MAX_GRACE_BEATS = 4;

/** Closed list: the words for each live in the user interface. */
export type PressRuleRefusal = 'guard-out-of-range' | 'grace-out-of-range';

/** The refusal of press rules, or null where they are within their limits. */
export function pressRulesRefusal({ guard, graceBeats }: PressRules): PressRuleRefusal | null {
  if (!(guard >= 0 && guard <= MAX_PRESS_GUARD)) return 'guard-out-of-range';
  return graceBeats >= 0 && graceBeats <= MAX_GRACE_BEATS ? null : 'grace-out-of-range';
}

/**
 * Start of a pass: up to `graceBeats` felt beats after a line (that frame included) the press means that line, since the
 * ring holds what was played; later, the next line. Beats are those of the bar, fractions allowed. Whatever the grace, a
 * press after the middle of a bar's last felt beat is early for the coming line (this matters in bars felt in one).
 */
export function lineForStart(heard: Frames, grid: Grid, graceBeats: number = PRESS_RULES.graceBeats): Bars {
  const { bar, frameInBar } = grid.placeOf(heard);
  const beats = grid.beatsOf(bar);
  const latest = beatTime(beats, beats.length - 1.5);
  return frameInBar <= Math.min(beatTime(beats, graceBeats), latest) ? bar : next(bar);
}

/** End of a pass of open length: the nearest line, from the middle of a bar on the coming one; at least one bar. */
export function lineForFinish(heard: Frames, grid: Grid, { fromBar }: { readonly fromBar: Bars }): Bars {
  return bars(Math.max(nearestLine(heard, grid), fromBar + 1));
}

/**
 * Change of what plays: up to half a bar before a line (the middle included) the press means that line, else the line just
 * passed: it is late, and the change comes at the next line that can be rendered.
 */
export const lineForChange = (heard: Frames, grid: Grid): Bars => nearestLine(heard, grid);

/** The first line at or after a frame. */
export function lineNotBefore(frame: Frames, grid: Grid): Bars {
  const { bar, frameInBar } = grid.placeOf(frame);
  return frameInBar === 0 ? bar : next(bar);
}

/**
 * True where a press comes less than `guard` after the last accepted one (null: there was none). Time stamps may arrive a
 * little out of order, so the distance counts, not its sign.
 */
export function isRepeatPress(
  lastHeard: Frames | null,
  heard: Frames,
  rate: SampleRate,
  guard: Milliseconds = PRESS_RULES.guard,
): boolean {
  return lastHeard !== null && Math.abs(heard - lastHeard) < framesFromMilliseconds(guard, rate);
}

/** Exactly in the middle the press counts as early for the coming line: up to half a bar before it counts. */
function nearestLine(heard: Frames, grid: Grid): Bars {
  const { bar, frameInBar } = grid.placeOf(heard);
  const coming = next(bar);
  return 2 * frameInBar < grid.lineOf(coming) - grid.lineOf(bar) ? bar : coming;
}

const next = (bar: Bars): Bars => bars(bar + 1);

/** Frames from the line to `beat`, straight between beats; the end of the bar from its last beat on. */
function beatTime(beats: readonly number[], beat: number): number {
  const index = Math.min(Math.max(Math.floor(beat), 0), beats.length - 1);
  const from = beats[index] ?? 0;
  const to = beats[index + 1] ?? from;
  return from + (to - from) * Math.max(beat - index, 0);
}
