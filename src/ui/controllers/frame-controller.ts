/** Calls a host back once an animation frame while there is something to follow, and not at all otherwise. */
import type { ReactiveController, ReactiveControllerHost } from 'lit';

export class FrameController implements ReactiveController {
  readonly #wanted: () => boolean;
  readonly #frame: (now: number) => void;
  #handle: number | null = null;
  #connected = false;

  /** `wanted` is asked after every update of the host and after every frame. */
  constructor(host: ReactiveControllerHost, wanted: () => boolean, frame: (now: number) => void) {
    this.#wanted = wanted;
    this.#frame = frame;
    host.addController(this);
  }

  hostConnected(): void {
    this.#connected = true;
  }

  hostUpdated(): void {
    this.#next();
  }

  hostDisconnected(): void {
    this.#connected = false;
    if (this.#handle !== null) cancelAnimationFrame(this.#handle);
    this.#handle = null;
  }

  #next(): void {
    if (!this.#connected || this.#handle !== null || !this.#wanted()) return;
    this.#handle = requestAnimationFrame((now) => {
      this.#handle = null;
      this.#frame(now);
      this.#next();
    });
  }
}
