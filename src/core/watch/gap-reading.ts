/**
 * How long a gap in the output was. Behind a gap of G frames the output's clock is behind by G, within 100 ms; and the
 * calls come G frames later than before. Neither clock is good enough alone: the output's wanders by 20 to 80 frames by
 * itself, and the calls' is one of whole milliseconds. So both are read, round the gap only, and must agree.
 *
 * Measured on one machine, 48 kHz, Chromium: the first is right to 4 frames (median; 19 at most) for gaps that stand
 * alone. How far apart the two may lie is our own choice.
 */
import type { TimedValues } from './timed-values.js';

/** The windows of the output's clock, ms before the gap and after it. */
const CLOCK_BEFORE_MS = 600;
const CLOCK_AFTER_FROM_MS = 45;
const CLOCK_AFTER_TO_MS = 550;
/** The windows of the calls: two seconds, less where another gap is near. */
const PHASE_SPAN_MS = 2000;
const PHASE_BEFORE_MS = 100;
const PHASE_AFTER_MS = 150;
const FEWEST_CLOCK = 5;
const FEWEST_PHASE = 6;
const AGREE_MS = 1;
/** A reading under this is none: the output's buffer has bridged the pause. A quarter of a millisecond. */
const BRIDGED_MS = 0.25;

/** Both windows are complete so long after the end of a gap. */
export const READ_AFTER_MS = PHASE_AFTER_MS + PHASE_SPAN_MS;
/** A gap stands alone when no other is nearer than the windows of the output's clock reach. */
export const ALONE_MS = 700;

export interface GapSpan {
  /** From the last call before it to the first after it, ms. */
  readonly fromMs: number;
  readonly toMs: number;
  /** The end of the gap before and the beginning of the one after; infinite where there is none. */
  readonly before: number;
  readonly after: number;
}

export interface Clocks {
  readonly framesPerMs: number;
  readonly offsets: TimedValues;
  readonly phases: TimedValues;
  /** Frames a millisecond by which `offsets` grow without a gap. */
  readonly drift: number;
}

export type GapReading =
  | { readonly type: 'read'; readonly frames: number }
  | { readonly type: 'gaps-together' | 'estimates-apart' | 'too-few-readings' };

export function readGap(span: GapSpan, clocks: Clocks): GapReading {
  const { fromMs, toMs, before, after } = span;
  if (fromMs - before < ALONE_MS || after - toMs < ALONE_MS || toMs - fromMs > ALONE_MS) {
    return { type: 'gaps-together' };
  }
  const byClock = readClock(span, clocks);
  const byPhase = readPhase(span, clocks);
  if (byClock === null || byPhase === null) return { type: 'too-few-readings' };
  const agree = AGREE_MS * clocks.framesPerMs;
  const longest = (toMs - fromMs) * clocks.framesPerMs + agree;
  // A gap is never longer than the pause that made it, and never less than nothing.
  if (Math.abs(byClock - byPhase) > agree || byClock > longest || byClock < -agree) return { type: 'estimates-apart' };
  return { type: 'read', frames: byClock < BRIDGED_MS * clocks.framesPerMs ? 0 : byClock };
}

function readClock({ fromMs, toMs }: GapSpan, { offsets, drift }: Clocks): number | null {
  const old = offsets.median(fromMs - CLOCK_BEFORE_MS, fromMs);
  const fresh = offsets.median(toMs + CLOCK_AFTER_FROM_MS, toMs + CLOCK_AFTER_TO_MS);
  if (old.count < FEWEST_CLOCK || fresh.count < FEWEST_CLOCK) return null;
  return old.value - fresh.value + drift * (fresh.at - old.at);
}

function readPhase({ fromMs, toMs, before, after }: GapSpan, { phases, drift }: Clocks): number | null {
  const start = Math.max(fromMs - PHASE_BEFORE_MS - PHASE_SPAN_MS, before + PHASE_AFTER_MS);
  const end = Math.min(toMs + PHASE_AFTER_MS + PHASE_SPAN_MS, after - PHASE_BEFORE_MS);
  const old = phases.trimmedMean(start, fromMs - PHASE_BEFORE_MS);
  const fresh = phases.trimmedMean(toMs + PHASE_AFTER_MS, end);
  if (old.count < FEWEST_PHASE || fresh.count < FEWEST_PHASE) return null;
  return fresh.value - old.value + drift * (fresh.at - old.at);
}
