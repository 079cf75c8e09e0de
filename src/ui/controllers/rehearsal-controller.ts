/** Joins a host to the rehearsal: it is updated with every snapshot that is published while it is connected. */
import type { ReactiveController, ReactiveControllerHost } from 'lit';
import type { RehearsalIntents } from '../../rehearsal/intents.js';
import type { Snapshot } from '../../rehearsal/snapshot.js';

export class RehearsalController implements ReactiveController {
  readonly #host: ReactiveControllerHost;
  readonly #rehearsal: RehearsalIntents;
  #end: (() => void) | null = null;

  constructor(host: ReactiveControllerHost, rehearsal: RehearsalIntents) {
    this.#host = host;
    this.#rehearsal = rehearsal;
    host.addController(this);
  }

  get snapshot(): Snapshot {
    return this.#rehearsal.snapshot;
  }

  hostConnected(): void {
    this.#end = this.#rehearsal.subscribe(() => {
      this.#host.requestUpdate();
    });
    this.#host.requestUpdate();
  }

  hostDisconnected(): void {
    this.#end?.();
    this.#end = null;
  }
}
