/**
 * What the engine asks the page for: chunks of the audio that its voices will play, a few at a time, and memory for the
 * pool. Audio thread; runs while commands are handled.
 */
import type { Program } from '../program/program.js';
import { voiceCount } from '../program/program.js';
import type { AudioStore } from './audio-store.js';
import { MISSING } from './audio-store.js';
import type { EngineReport } from './commands.js';
import type { ChunkPool } from './pool.js';
import { CHUNK_FRAMES, SLAB_CHUNKS } from './pool.js';
import { VoiceRow } from './voice-iterations.js';

/** Requests under way at a time: 256 kB. */
const IN_FLIGHT = 4;

interface Want {
  readonly audio: number;
  readonly channel: number;
  readonly chunk: number;
}

export class Loading {
  readonly #pool: ChunkPool;
  readonly #store: AudioStore;
  readonly #report: (report: EngineReport) => void;
  readonly #row = new VoiceRow();
  #wanted: Want[] = [];
  #asked = new Map<string, Want>();
  #slabAsked = false;
  /** Revision of the program that is being loaded; null once it is here. */
  #loading: number | null = null;

  constructor(pool: ChunkPool, store: AudioStore, report: (report: EngineReport) => void) {
    this.#pool = pool;
    this.#store = store;
    this.#report = report;
  }

  /** Works out what a program's voices need and is not here. */
  want(program: Program): void {
    this.#wanted = [];
    this.#loading = program.revision;
    const listed = new Set(this.#asked.keys());
    for (let voice = 0; voice < voiceCount(program); voice++) {
      const row = this.#row;
      row.read(program.voices, voice);
      const first = Math.floor((row.bodyStart - row.lead) / CHUNK_FRAMES);
      const last = Math.floor((row.bodyStart + row.bodyFrames + row.tail - 1) / CHUNK_FRAMES);
      const channel = this.#store.find(row.audio, row.channel);
      if (channel?.local === true) continue;
      for (let chunk = Math.max(0, first); chunk <= last; chunk++) {
        const want = { audio: row.audio, channel: row.channel, chunk };
        if (channel?.chunkAt(chunk) !== MISSING || listed.has(keyOf(want))) continue;
        listed.add(keyOf(want));
        this.#wanted.push(want);
      }
    }
    this.#ask();
  }

  supply(audio: number, channel: number, chunk: number, samples: Float32Array): void {
    this.#asked.delete(keyOf({ audio, channel, chunk }));
    const into = this.#store.find(audio, channel);
    const count = Math.min(samples.length, CHUNK_FRAMES);
    if (into?.write(chunk * CHUNK_FRAMES, samples, 0, count) === false) this.#wanted.push({ audio, channel, chunk });
    this.#ask();
  }

  supplySlab(slab: Float32Array): void {
    this.#pool.addSlab(slab);
    this.#slabAsked = false;
    this.#ask();
  }

  /** @returns the revision of a program that has just become complete; null otherwise. */
  takeReady(): number | null {
    const ready = this.#wanted.length === 0 && this.#asked.size === 0 ? this.#loading : null;
    if (ready !== null) this.#loading = null;
    return ready;
  }

  /** Asks for another slab when less than half of one is free. */
  askForMemory(): void {
    if (this.#slabAsked || this.#pool.freeChunks >= SLAB_CHUNKS / 2) return;
    this.#slabAsked = true;
    this.#report({ type: 'slab-wanted', chunks: SLAB_CHUNKS });
  }

  #ask(): void {
    while (this.#asked.size < Math.min(IN_FLIGHT, this.#pool.freeChunks)) {
      const want = this.#wanted.shift();
      if (want === undefined) return;
      this.#asked.set(keyOf(want), want);
      this.#report({ type: 'audio-wanted', ...want });
    }
  }
}

const keyOf = (want: Want): string => `${String(want.audio)}/${String(want.channel)}/${String(want.chunk)}`;
