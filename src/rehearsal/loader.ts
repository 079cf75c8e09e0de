/** Brings the engine the audio that it asks for. */
import type { EngineReport } from '../core/render/commands.js';
import { CHUNK_FRAMES } from '../core/render/pool.js';
import { frames } from '../core/units/index.js';
import type { Library } from '../ports/library.js';
import type { EngineHandles } from './handles.js';
import type { SoundDesk } from './sound-desk.js';

export class Loader {
  readonly #library: Library;
  readonly #handles: EngineHandles;
  readonly #sound: SoundDesk;

  constructor(library: Library, handles: EngineHandles, sound: SoundDesk) {
    this.#library = library;
    this.#handles = handles;
    this.#sound = sound;
  }

  /** A chunk that cannot be read is answered with silence: the player is told of it where the layer's ink is drawn. */
  async load({ audio, channel, chunk }: Extract<EngineReport, { type: 'audio-wanted' }>): Promise<void> {
    const recording = this.#handles.recordingOf(audio);
    if (recording === undefined) return;
    const start = frames(chunk * CHUNK_FRAMES);
    const read = await this.#library.readRecording(recording, channel, start, frames(CHUNK_FRAMES));
    const samples = read.ok ? read.value.samples : new Float32Array(CHUNK_FRAMES);
    this.#sound.send({ type: 'supply', audio, channel, chunk, samples });
  }
}
