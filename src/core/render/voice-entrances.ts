/**
 * When voices come in: at the beginning of an iteration where one begins, else under way, rising from silence. One by one
 * at a line, or all of them when playing starts, is taken up, or goes on after a standstill. Audio thread; allocates
 * nothing.
 */
import type { VoiceRow } from './voice-iterations.js';
import type { VoiceLists } from './voice-lists.js';
import type { VoiceSlot } from './voice-slot.js';

/**
 * A voice comes in at a line.
 * @param line engine frame
 * @param at first engine frame that may still be touched
 */
export function enterAt(slot: VoiceSlot, line: number, at: number): void {
  const { row } = slot;
  const into = line - slot.origin - row.start;
  slot.enters = line;
  slot.from = row.start;
  if (into > 0 && into % row.period !== 0) return slot.joinAt(line);
  if (into > 0) slot.from = row.start + into;
  if (slot.origin + slot.from - row.lead < at) slot.joinAt(at);
}

/**
 * Position 0 lies ahead, at an engine frame: a voice that is under way there is joined there, one whose lead should have
 * begun already is joined in its lead, others begin by themselves.
 * @param at first engine frame that may still be touched
 */
export function startAt(slot: VoiceSlot, origin: number, at: number): void {
  const { row } = slot;
  slot.from = row.start;
  slot.joinsAt = -Infinity;
  if (row.start < 0) slot.joinAt(origin);
  else if (origin + row.start - row.lead < at) slot.joinAt(at);
}

/** Playing starts from the top at the engine frame `at`, position 0 at another that is no earlier. */
export function startFrom({ program, own, leaving }: VoiceLists, origin: number, at: number): void {
  // What closed before the last stop begins with the rest; what was ordered with this start waits for its line.
  for (const slot of own) if (slot.origin !== origin) slot.row.start = startInPhase(slot.row);
  for (const slot of own) beginFrom(slot, origin, at);
  for (const slot of program) beginFrom(slot, origin, at);
  leaving.length = 0;
}

/** Playing is taken up under way at the engine frame `at`. */
export function joinFrom({ program, leaving }: VoiceLists, origin: number, at: number): void {
  for (const slot of program) {
    slot.origin = origin;
    slot.from = slot.row.start;
    slot.late.reset();
    slot.joinAt(at);
  }
  leaving.length = 0;
}

/** Nothing plays: voices that were to come in at a line are there. */
export function settle(slots: readonly VoiceSlot[]): void {
  for (const slot of slots) {
    slot.enters = -Infinity;
    slot.joinsAt = -Infinity;
    slot.setGains(slot.left.target, slot.right.target, 'at-once', 0);
  }
}

/**
 * What begins or ends at or behind an engine frame does so `by` frames later (by is below 0). A lead that would have begun
 * before the engine frame `at` is cut, and rises from silence.
 */
export function moveBehind(slots: readonly VoiceSlot[], frame: number, by: number, at: number): void {
  for (const slot of slots) {
    const { row, origin } = slot;
    if (origin + row.end >= frame) row.end += by;
    if (origin + row.start < frame) continue;
    row.start += by;
    slot.from = row.start;
    if (origin + row.start - row.lead < at) slot.joinAt(at);
  }
}

function beginFrom(slot: VoiceSlot, origin: number, at: number): void {
  slot.origin = origin;
  slot.late.reset();
  startAt(slot, origin, at);
}

/** Where a voice that began at some line is when playing starts at the top: at 0, or under way since before. */
function startInPhase({ start, period }: VoiceRow): number {
  const into = start % period;
  return into > 0 ? into - period : 0;
}
