/**
 * Faults of one kind, gathered: the first is reported at once, what follows at most so often, so that a fault in every
 * block does not flood the page. Audio thread; a report is its only allocation.
 */
import type { Frames, SampleRate } from '../units/index.js';
import { frames } from '../units/index.js';
import type { EngineReport } from './commands.js';

type FaultReport = Extract<EngineReport, { type: 'fault' }>;

const PAUSE_SECONDS = 0.25;

export class FaultReports {
  readonly #kind: FaultReport['kind'];
  readonly #report: (report: FaultReport) => void;
  readonly #pause: number;
  #count = 0;
  #nextAt = -Infinity;

  constructor(
    kind: FaultReport['kind'],
    rate: SampleRate,
    report: (report: FaultReport) => void,
    pauseSeconds = PAUSE_SECONDS,
  ) {
    this.#kind = kind;
    this.#report = report;
    this.#pause = pauseSeconds * rate;
  }

  /** Once a block: takes in how many there were, and reports what is due at engine frame `at`. */
  take(count: number, at: Frames): void {
    this.#count += count;
    if (this.#count === 0 || at < this.#nextAt) return;
    this.#report({ type: 'fault', at: frames(at), kind: this.#kind, count: this.#count });
    this.#count = 0;
    this.#nextAt = at + this.#pause;
  }
}
