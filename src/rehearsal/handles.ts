/**
 * Numbers for the engine. What the engine records itself it numbers from 1; what the rehearsal names begins far above,
 * so that the two never meet. One set of handles lives as long as one engine.
 */
import type { Handles } from '../core/program/compile.js';
import type { LayerId, RecordingId } from '../core/song/ids.js';

const FIRST_OWN = 1_000_000;

export class EngineHandles implements Handles {
  readonly #voices = new Map<LayerId, number>();
  readonly #audio = new Map<RecordingId, number>();
  readonly #recordings = new Map<number, RecordingId>();
  #next = FIRST_OWN;
  #passesKnown = 0;

  get passesKnown(): number {
    return this.#passesKnown;
  }

  voiceOf(layer: LayerId): number {
    const known = this.#voices.get(layer);
    if (known !== undefined) return known;
    const made = this.#next++;
    this.#voices.set(layer, made);
    return made;
  }

  audioOf(recording: RecordingId): number {
    const known = this.#audio.get(recording);
    if (known !== undefined) return known;
    const made = this.#next++;
    this.nameRecording(made, recording);
    return made;
  }

  /** The engine started this voice itself, at a closing line. */
  nameVoice(voice: number, layer: LayerId): void {
    this.#voices.set(layer, voice);
    this.#passesKnown = Math.max(this.#passesKnown, voice);
  }

  /** The engine began this recording itself. */
  nameRecording(audio: number, recording: RecordingId): void {
    this.#audio.set(recording, audio);
    this.#recordings.set(audio, recording);
  }

  recordingOf(audio: number): RecordingId | undefined {
    return this.#recordings.get(audio);
  }
}
