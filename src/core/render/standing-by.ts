/**
 * The voices of programs that stand by, as they would sound from the top: their first seconds are looked at too. Audio
 * thread; changed while a command is handled.
 */
import type { Program } from '../program/program.js';
import { voiceCount } from '../program/program.js';
import type { AudioChannel, AudioStore } from './audio-store.js';
import type { Sounding } from './needs.js';
import { CHUNK_FRAMES } from './pool.js';
import { VoiceRow } from './voice-iterations.js';

interface WaitingVoice extends Sounding {
  readonly audio: AudioChannel;
  /** Song position at which playing would begin to sound. */
  readonly top: number;
}

export class StandingBy {
  readonly #store: AudioStore;
  readonly #programs = new Map<number, readonly WaitingVoice[]>();
  #voices: readonly WaitingVoice[] = [];

  constructor(store: AudioStore) {
    this.#store = store;
  }

  /** Of all programs. */
  get voices(): readonly WaitingVoice[] {
    return this.#voices;
  }

  /** The program in that place is another. */
  set(slot: number, program: Program): void {
    this.#programs.set(
      slot,
      Array.from({ length: voiceCount(program) }, (_, index) => this.#waiting(program, index)),
    );
    this.#voices = [...this.#programs.values()].flat();
  }

  #waiting(program: Program, index: number): WaitingVoice {
    const row = new VoiceRow();
    row.read(program.voices, index);
    const chunks = Math.ceil(Math.max(0, row.bodyStart + row.bodyFrames + row.tail) / CHUNK_FRAMES);
    const audio = this.#store.known(row.audio, row.channel, chunks);
    return { row, audio, from: row.start, cut: Infinity, top: -program.leadFrames };
  }
}
