/**
 * What can happen to an opened sound from outside: the input ends or is muted, its permission is withdrawn, the context is
 * stopped, the tab is hidden, the clocks part.
 */
import type { Frames } from '../core/units/index.js';
import type { BreakKind } from '../core/watch/observations.js';
import type { SoundInterruption, SoundObservation } from '../ports/sound.js';
import { ClockJumps } from './clock-jumps.js';
import type { MicrophonePermission } from './microphone-permission.js';
import { watchPermission } from './microphone-permission.js';

export interface Disturbed {
  readonly context: AudioContext;
  readonly track: MediaStreamTrack;
  /** Capture frame after the newest that has come in. */
  captured(): Frames;
  interrupted(why: SoundInterruption): void;
  observed(observation: SoundObservation): void;
}

export class Disturbances {
  readonly #of: Disturbed;
  readonly #clocks = new ClockJumps();
  readonly #leave = new AbortController();
  #permission: MicrophonePermission | null = null;

  constructor(of: Disturbed) {
    this.#of = of;
    const { signal } = this.#leave;
    const { context, track } = of;
    track.addEventListener('ended', this.#ended, { signal });
    track.addEventListener('mute', this.#muted, { signal });
    track.addEventListener('unmute', this.#muted, { signal });
    context.addEventListener('statechange', this.#stateChanged, { signal });
    document.addEventListener('visibilitychange', this.#shown, { signal });
    void this.#watchPermission();
  }

  /** Call often: whether the clocks have parted. */
  readClocks(): void {
    if (this.#clocks.read(performance.now(), Date.now())) this.#break('clock-jumped');
  }

  stop(): void {
    this.#leave.abort();
    this.#permission?.stop();
  }

  readonly #ended = (): void => {
    this.#of.interrupted(this.#permission?.isGranted === false ? 'permission-withdrawn' : 'input-ended');
  };

  readonly #muted = (event: Event): void => {
    this.#of.observed({ type: 'input-muted', muted: event.type === 'mute' });
  };

  readonly #stateChanged = (): void => {
    if (this.#of.context.state === 'running') {
      this.#break('resumed');
      return;
    }
    this.#break('suspended');
    this.#of.interrupted('output-interrupted');
  };

  readonly #shown = (): void => {
    const shown = document.visibilityState === 'visible';
    this.#of.observed({ type: 'page-shown', shown });
    if (!shown) this.#break('hidden');
  };

  async #watchPermission(): Promise<void> {
    const permission = await watchPermission((granted) => {
      this.#of.observed({ type: 'permission-changed', granted });
    });
    if (this.#leave.signal.aborted) permission.stop();
    else this.#permission = permission;
  }

  #break(kind: BreakKind): void {
    this.#of.observed({ type: 'break', kind, at: this.#of.captured() });
  }
}
