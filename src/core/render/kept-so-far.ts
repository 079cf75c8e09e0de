/**
 * How far what was played is kept already, by passes that have come in whole: "keep that" takes none of it again. What was
 * taken back is not kept: the song knows its pass and its program has no voice of it. Audio thread; grows by an entry for
 * each pass, and is read while a command is handled.
 */
import type { Program } from '../program/program.js';
import { VOICE_FIELDS, Voice } from '../program/program.js';
import type { Frames } from '../units/index.js';

interface Kept {
  /** The first of its voices, and how many it has; 0 for a loop without a tempo, whose voice the page names. */
  readonly pass: number;
  readonly parts: number;
  /** Heard frame after its last. */
  readonly ends: Frames;
}

export class KeptSoFar {
  #kept: Kept[] = [];

  add(kept: Kept): void {
    this.#kept.push(kept);
  }

  /** Playing starts: it begins after everything that was kept. */
  startAnew(): void {
    this.#kept = [];
  }

  /** @returns the heard frame up to which something is kept; null where nothing is. */
  upTo(program: Program): Frames | null {
    return this.#kept.findLast((each) => isThere(each, program))?.ends ?? null;
  }
}

function isThere({ pass, parts }: Kept, { passesKnown, voices }: Program): boolean {
  if (pass === 0) return voices.length > 0;
  if (pass + parts - 1 > passesKnown) return true;
  for (let at = Voice.id; at < voices.length; at += VOICE_FIELDS) {
    const id = voices[at] ?? 0;
    if (id >= pass && id < pass + parts) return true;
  }
  return false;
}
