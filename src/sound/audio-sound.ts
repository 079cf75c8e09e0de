/** Sound on the page's side: at most one is open, and what was open is closed before another is. */
import type { EngineCommand } from '../core/render/commands.js';
import type { Peaks } from '../core/render/meters.js';
import type { Result } from '../core/result/result.js';
import { success } from '../core/result/result.js';
import type { Frames, Milliseconds } from '../core/units/index.js';
import { frames } from '../core/units/index.js';
import type {
  Sound,
  SoundDevices,
  SoundInterruption,
  SoundListener,
  SoundObservation,
  SoundOpened,
  SoundRefusal,
  SoundRequest,
} from '../ports/sound.js';
import { DeviceWatch } from './device-watch.js';
import { listDevices } from './devices.js';
import type { SoundParts } from './open-sound.js';
import { OpenSound } from './open-sound.js';

export class AudioSound implements Sound {
  readonly #parts: SoundParts;
  readonly #devices: DeviceWatch;
  #listener: SoundListener | null = null;
  #open: OpenSound | null = null;
  /** What is being opened or closed: one after the other. */
  #busy: Promise<unknown> = Promise.resolve();

  constructor(parts: SoundParts) {
    this.#parts = parts;
    this.#devices = new DeviceWatch(listDevices, (observation) => {
      this.#observed(observation);
    });
    const media = navigator.mediaDevices as MediaDevices | undefined;
    media?.addEventListener('devicechange', () => {
      void this.#devices.changed();
    });
  }

  listen(listener: SoundListener): void {
    this.#listener = listener;
  }

  open(request: SoundRequest): Promise<Result<SoundOpened, SoundRefusal>> {
    return this.#next(async () => {
      if (this.#open !== null && isSame(this.#open.request, request)) return success(this.#open.opened);
      await this.#closeNow();
      return this.#openNow(request);
    });
  }

  send(command: EngineCommand): void {
    this.#open?.send(command);
  }

  heardAt(timeStamp: Milliseconds): Frames {
    return this.#open?.heardAt(timeStamp) ?? frames(0);
  }

  inputPeak(): number | null {
    return this.#open?.inputPeak() ?? null;
  }

  peaks(): Peaks | null {
    return this.#open?.peaks() ?? null;
  }

  close(): Promise<void> {
    return this.#next(() => this.#closeNow());
  }

  async devices(): Promise<SoundDevices> {
    await this.#devices.begin();
    return (await listDevices()).devices;
  }

  async #openNow(request: SoundRequest): Promise<Result<SoundOpened, SoundRefusal>> {
    const opened = await OpenSound.open(request, this.#parts, {
      report: (report) => this.#listener?.report(report),
      observed: (observation) => {
        this.#observed(observation);
      },
      interrupted: (why) => {
        this.#interrupted(why);
      },
    });
    if (!opened.ok) return opened;
    this.#open = opened.value;
    this.#devices.found();
    // With permission there are names, and changes can be told.
    await this.#devices.begin();
    return success(opened.value.opened);
  }

  async #closeNow(): Promise<void> {
    const open = this.#open;
    this.#open = null;
    await open?.close();
  }

  #next<Value>(job: () => Promise<Value>): Promise<Value> {
    const done = this.#busy.then(job, job);
    this.#busy = done.catch(() => undefined);
    return done;
  }

  #observed(observation: SoundObservation): void {
    this.#listener?.observed(observation);
  }

  #interrupted(why: SoundInterruption): void {
    const open = this.#open;
    if (open !== null && why === 'input-ended') {
      const { inputId, inputName } = open.opened;
      this.#devices.lost({ id: inputId ?? '', name: inputName }, open.isRecording);
    }
    this.#listener?.interrupted(why);
  }
}

const isSame = (a: SoundRequest, b: SoundRequest): boolean =>
  a.sampleRate === b.sampleRate && a.pace === b.pace && a.inputId === b.inputId && a.outputId === b.outputId;
