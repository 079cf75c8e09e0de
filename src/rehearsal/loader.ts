/** Brings an engine the audio that it asks for; one loader lives as long as one engine. */
import type { EngineReport } from '../core/render/commands.js';
import { CHUNK_FRAMES } from '../core/render/pool.js';
import type { Frames } from '../core/units/index.js';
import { frames } from '../core/units/index.js';
import type { Library } from '../ports/library.js';
import type { EngineHandles } from './handles.js';
import type { Keeping } from './keeping.js';
import type { SoundDesk } from './sound-desk.js';

export class Loader {
  readonly #library: Library;
  readonly #keeping: Keeping;
  readonly #handles: EngineHandles;
  readonly #sound: SoundDesk;
  #isClosed = false;

  constructor(library: Library, keeping: Keeping, handles: EngineHandles, sound: SoundDesk) {
    this.#library = library;
    this.#keeping = keeping;
    this.#handles = handles;
    this.#sound = sound;
  }

  /** The engine is gone: what is still being read is not for the next one, which numbers its audio alike. */
  close(): void {
    this.#isClosed = true;
  }

  /**
   * Every request is answered, since the engine keeps a place for the answer. A chunk that cannot be read is answered with
   * silence: the player is told of it where the layer's ink is drawn.
   */
  async load({ audio, channel, chunk }: Extract<EngineReport, { type: 'audio-wanted' }>): Promise<void> {
    const samples = await this.#read(audio, channel, frames(chunk * CHUNK_FRAMES));
    if (!this.#isClosed) this.#sound.send({ type: 'supply', audio, channel, chunk, samples });
  }

  async #read(audio: number, channel: number, start: Frames): Promise<Float32Array<ArrayBuffer>> {
    const recording = this.#handles.recordingOf(audio);
    if (recording === undefined) return new Float32Array(CHUNK_FRAMES);
    const again = () => this.#library.readRecording(recording, channel, start, frames(CHUNK_FRAMES));
    let read = await again();
    // What is missing may still be on its way to storage. Nothing else has to wait for it.
    if (!(read.ok && read.value.missing === 0) && this.#keeping.isBehind) {
      await this.#keeping.settled();
      read = await again();
    }
    return read.ok ? read.value.samples : new Float32Array(CHUNK_FRAMES);
  }
}
