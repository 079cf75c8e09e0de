/**
 * Numbers for the engine. What the engine records itself it numbers from 1; what the rehearsal names begins far above,
 * so that the two never meet. One set of handles lives as long as one engine.
 */
import type { Handles } from '../core/program/compile.js';
import type { LayerId, RecordingId } from '../core/song/ids.js';

const FIRST_OWN = 1_000_000;

export class EngineHandles implements Handles {
  readonly #voices = new Map<LayerId, number>();
  /** Of later runs of a layer's take, by bar and layer. */
  readonly #runs = new Map<string, number>();
  readonly #layers = new Map<number, LayerId>();
  readonly #audio = new Map<RecordingId, number>();
  readonly #recordings = new Map<number, RecordingId>();
  #next = FIRST_OWN;
  #passesKnown = 0;

  get passesKnown(): number {
    return this.#passesKnown;
  }

  voiceOf(layer: LayerId, fromBar = 0): number {
    const run = `${String(fromBar)} ${layer}`;
    const known = fromBar === 0 ? this.#voices.get(layer) : this.#runs.get(run);
    if (known !== undefined) return known;
    const made = this.#next++;
    if (fromBar === 0) this.#pair(made, layer);
    else this.#runs.set(run, made);
    return made;
  }

  audioOf(recording: RecordingId): number {
    const known = this.#audio.get(recording);
    if (known !== undefined) return known;
    const made = this.#next++;
    this.nameRecording(made, recording);
    return made;
  }

  /** The layer that a voice plays, or played before another take of it was recorded. */
  layerOf(voice: number): LayerId | undefined {
    return this.#layers.get(voice);
  }

  /** The engine started this voice itself, at a closing line; from now on it plays the layer. */
  nameVoice(voice: number, layer: LayerId): void {
    this.#pair(voice, layer);
    this.#passesKnown = Math.max(this.#passesKnown, voice);
  }

  /** The engine began this recording itself. */
  nameRecording(audio: number, recording: RecordingId): void {
    this.#audio.set(recording, audio);
    this.#recordings.set(audio, recording);
  }

  /** Whether the engine made a recording itself, and so has it. */
  isLocal(recording: RecordingId): boolean {
    return (this.#audio.get(recording) ?? FIRST_OWN) < FIRST_OWN;
  }

  recordingOf(audio: number): RecordingId | undefined {
    return this.#recordings.get(audio);
  }

  #pair(voice: number, layer: LayerId): void {
    this.#voices.set(layer, voice);
    this.#layers.set(voice, layer);
  }
}
