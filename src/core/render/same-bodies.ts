/**
 * A loop that was read as other bars: the bodies are the same audio, but for the frames by which rounding makes them
 * longer or shorter. Then what sounds stays as it is, and only its bars are read anew. Runs while a command is handled.
 */
import type { Program } from '../program/program.js';
import { voiceCount } from '../program/program.js';
import { VoiceRow } from './voice-iterations.js';
import type { VoiceSlot } from './voice-slot.js';

/** A body of 64 bars, each rounded to whole frames in two ways, differs by so much at most. */
const ROUNDING_FRAMES = 64;

/** Whether some voice goes on, and all that do keep their audio and their body, but for what rounding makes of it. */
export function keepsBodies(slots: readonly VoiceSlot[], program: Program): boolean {
  const fresh = new VoiceRow();
  let known = 0;
  for (let voice = 0; voice < voiceCount(program); voice++) {
    const row = rowOf(slots, program, voice, fresh);
    if (row === undefined) continue;
    if (!isSameBody(row, fresh, ROUNDING_FRAMES)) return false;
    known++;
  }
  return known > 0;
}

/**
 * @param position in the song, now.
 * @returns frames by which position 0 has to move so that the round under way goes on where it is; 0 where no body
 * of a program's voice changes.
 */
export function roundShift(slots: readonly VoiceSlot[], program: Program, position: number): number {
  const fresh = new VoiceRow();
  for (let voice = 0; voice < voiceCount(program); voice++) {
    const row = rowOf(slots, program, voice, fresh);
    if (row === undefined || row.period === fresh.period) continue;
    const rounds = Math.max(0, Math.floor((position - row.start) / row.period));
    return rounds * (row.period - fresh.period);
  }
  return 0;
}

/** Position 0 is another engine frame, and bodies are as long as a program has them: the round under way stays. */
export function readAnew(slots: readonly VoiceSlot[], program: Program, by: number): void {
  const fresh = new VoiceRow();
  for (const slot of slots) slot.origin += by;
  for (let voice = 0; voice < voiceCount(program); voice++) {
    const row = rowOf(slots, program, voice, fresh);
    if (row === undefined) continue;
    row.bodyFrames = fresh.bodyFrames;
    row.period = fresh.period;
  }
}

/** Whether a voice that sounds lies where another would: the same body at the same engine frames. */
export const liesAs = (a: VoiceSlot, b: VoiceSlot): boolean =>
  a.origin === b.origin && a.row.start === b.row.start && a.row.end === b.row.end && isSameBody(a.row, b.row, 0);

const isSameBody = (a: VoiceRow, b: VoiceRow, within: number): boolean =>
  a.audio === b.audio &&
  a.channel === b.channel &&
  a.bodyStart === b.bodyStart &&
  Math.abs(a.bodyFrames - b.bodyFrames) <= within &&
  Math.abs(a.period - b.period) <= within;

/** Reads a voice of the program into `fresh`. @returns the row with its id as it is played; undefined where none is. */
function rowOf(slots: readonly VoiceSlot[], program: Program, voice: number, fresh: VoiceRow): VoiceRow | undefined {
  fresh.read(program.voices, voice);
  return slots.find(({ row }) => row.id === fresh.id)?.row;
}
