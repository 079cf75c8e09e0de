/** How the audio thread keeps up, counted since the sound was opened: readings, of which nothing follows by itself. */
import type { EngineReport } from '../core/render/commands.js';
import type { SoundObservation } from '../ports/sound.js';

export interface SoundHealth {
  /** Part of the time that the audio thread needs, to a hundredth: an estimate. Null until two seconds have passed. */
  readonly load: number | null;
  /** Disturbances of the output; gaps within 300 ms of the one before are the same one. */
  readonly gaps: number;
  /** Frames that should have sounded and were not there in time, added up over the voices. */
  readonly lateFrames: number;
  /** Frames of the input that were gone before they could be kept. */
  readonly lostFrames: number;
  /** Times that no memory was left for what was being recorded. */
  readonly timesFull: number;
  /** Samples that came in or were mixed and were no finite numbers; each became silence. */
  readonly damagedSamples: number;
}

const MERGE_MS = 300;
const NOTHING: SoundHealth = { load: null, gaps: 0, lateFrames: 0, lostFrames: 0, timesFull: 0, damagedSamples: 0 };

const COUNTER = {
  'late-chunk': 'lateFrames',
  'frames-lost': 'lostFrames',
  'pool-full': 'timesFull',
  'not-a-number': 'damagedSamples',
} as const satisfies Record<Extract<EngineReport, { type: 'fault' }>['kind'], keyof SoundHealth>;

export class HealthReadings {
  #health = NOTHING;
  #lastGap = -Infinity;

  get health(): SoundHealth {
    return this.#health;
  }

  /** Another sound is opened. */
  begin(): void {
    this.#health = NOTHING;
    this.#lastGap = -Infinity;
  }

  report(report: EngineReport): void {
    if (report.type !== 'fault') return;
    const counter = COUNTER[report.kind];
    this.#health = { ...this.#health, [counter]: this.#health[counter] + report.count };
  }

  observe(observation: SoundObservation): void {
    if (observation.type === 'load') {
      const load = Math.round(100 * observation.part) / 100;
      if (load !== this.#health.load) this.#health = { ...this.#health, load };
    }
    if (observation.type !== 'call-pause') return;
    const isAnother = observation.endedAt - this.#lastGap > MERGE_MS;
    this.#lastGap = observation.endedAt;
    if (isAnother) this.#health = { ...this.#health, gaps: this.#health.gaps + 1 };
  }
}
