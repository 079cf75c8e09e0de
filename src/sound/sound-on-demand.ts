/**
 * Sound that is loaded when it is first opened: the page shows and the tempo can be tapped without it. Until then it
 * answers as sound that is not open.
 */
import type { EngineCommand } from '../core/render/commands.js';
import type { Peaks } from '../core/render/meters.js';
import type { Result } from '../core/result/result.js';
import { failure } from '../core/result/result.js';
import type { Frames, Milliseconds } from '../core/units/index.js';
import { frames } from '../core/units/index.js';
import type { Sound, SoundDevices, SoundListener, SoundOpened, SoundRefusal, SoundRequest } from '../ports/sound.js';

export class SoundOnDemand implements Sound {
  readonly #load: () => Promise<Sound>;
  #loading: Promise<Sound> | null = null;
  #sound: Sound | null = null;
  #listener: SoundListener | null = null;

  /** @param load brings the sound; called once, unless it fails. */
  constructor(load: () => Promise<Sound>) {
    this.#load = load;
  }

  async open(request: SoundRequest): Promise<Result<SoundOpened, SoundRefusal>> {
    const sound = await this.#loaded();
    return sound === null ? failure('engine-failed') : sound.open(request);
  }

  send(command: EngineCommand): void {
    this.#sound?.send(command);
  }

  listen(listener: SoundListener): void {
    this.#listener = listener;
    this.#sound?.listen(listener);
  }

  heardAt(timeStamp: Milliseconds): Frames {
    return this.#sound?.heardAt(timeStamp) ?? frames(0);
  }

  inputPeak(): number | null {
    return this.#sound?.inputPeak() ?? null;
  }

  peaks(): Peaks | null {
    return this.#sound?.peaks() ?? null;
  }

  close(): Promise<void> {
    return this.#sound?.close() ?? Promise.resolve();
  }

  /** Loads it: what changes about the devices is told from then on. */
  async devices(): Promise<SoundDevices> {
    const sound = await this.#loaded();
    return sound?.devices() ?? { inputs: [], outputs: [], named: false, outputCanBeChosen: false };
  }

  /** Null where it cannot be loaded; it is tried again when it is wanted again. */
  async #loaded(): Promise<Sound | null> {
    try {
      this.#loading ??= this.#load();
      this.#sound = await this.#loading;
    } catch {
      this.#loading = null;
      return null;
    }
    if (this.#listener !== null) this.#sound.listen(this.#listener);
    return this.#sound;
  }
}
