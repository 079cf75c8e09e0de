/**
 * Whether a voice that sounds may simply go on as another row says. It may where the two say the same, or where both are
 * in the middle of their body, at the very same sample; else one has to fade out and the other in. Audio thread; runs
 * while a command is handled.
 */
import type { VoiceRow } from './voice-iterations.js';

/** A row and what it needs to be read. */
export interface Reading {
  readonly row: VoiceRow;
  /** Fade tables that the row's indices point into. */
  readonly curves: Float32Array;
}

/** @param position that comes next. @param from position before which no iteration begins. */
export function continues(now: Reading, next: Reading, position: number, from: number): boolean {
  if (now.row.audio !== next.row.audio || now.row.channel !== next.row.channel) return false;
  if (saysTheSame(now, next)) return true;
  const frame = plainFrame(now.row, position, from);
  return frame === plainFrame(next.row, position, from) && !Number.isNaN(frame);
}

/** Their beginnings may lie whole periods apart: what began before one of them has been heard or never will be. */
function saysTheSame(now: Reading, next: Reading): boolean {
  const { row: a } = now;
  const { row: b } = next;
  return (
    a.bodyStart === b.bodyStart &&
    a.bodyFrames === b.bodyFrames &&
    a.period === b.period &&
    a.lead === b.lead &&
    a.tail === b.tail &&
    a.end === b.end &&
    (a.start - b.start) % a.period === 0 &&
    isSameTable(now.curves, a.fadeInAt, a.fadeIn, next.curves, b.fadeInAt, b.fadeIn) &&
    isSameTable(now.curves, a.fadeOutAt, a.fadeOut, next.curves, b.fadeOutAt, b.fadeOut)
  );
}

function isSameTable(
  a: Float32Array,
  atA: number,
  countA: number,
  b: Float32Array,
  atB: number,
  countB: number,
): boolean {
  if (countA !== countB) return false;
  for (let i = 0; i < countA; i++) if (a[atA + i] !== b[atB + i]) return false;
  return true;
}

/** The frame of the audio that alone sounds at a position, without any fade; NaN where that is not so. */
function plainFrame(row: VoiceRow, position: number, from: number): number {
  const round = Math.floor((position - row.start) / row.period);
  const bodyAt = row.start + round * row.period;
  const ends = bodyAt + row.bodyFrames;
  const sounds = round >= 0 && bodyAt >= from && bodyAt < row.end;
  const rises = position < Math.max(ends - row.period + row.tail, bodyAt - row.lead + row.fadeIn);
  const falls = position >= Math.min(bodyAt + row.period - row.lead, ends + row.tail - row.fadeOut);
  return sounds && !rises && !falls ? row.bodyStart + position - bodyAt : NaN;
}
