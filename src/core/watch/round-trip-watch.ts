/**
 * Watches the round trip of one opening. It takes what was observed, in any order and up to a second late, and says
 * where the round trip moved. Page; a few kilobytes, and at most some thousand entries however long it runs.
 */
import { buildHistory } from './build-history.js';
import type { TripHistory, WatchSetup } from './history.js';
import { InputSigns } from './input-signs.js';
import type { Break, ContextLead, Measurement, Observation } from './observations.js';
import { OutputGaps } from './output-gaps.js';
import { exactSighting, openSighting, type Sighting } from './sighting.js';

/** Before a measurement counts: queues fill, and the round trip finds its place. Measured on one machine. */
const SETTLE_SECONDS = 15;
/** A page hears of a break a little after it. */
const BREAK_SLACK_SECONDS = 0.25;
const MOST_SIGHTINGS = 2000;
const MOST_MEASUREMENTS = 500;

export class RoundTripWatch {
  readonly #setup: WatchSetup;
  readonly #settleFrames: number;
  readonly #gaps: OutputGaps;
  readonly #input: InputSigns;
  readonly #sightings: Sighting[] = [];
  readonly #measurements: Measurement[] = [];
  #lead: number | null = null;
  #history: TripHistory | null = null;

  constructor(setup: WatchSetup) {
    this.#setup = setup;
    this.#settleFrames = SETTLE_SECONDS * setup.sampleRate;
    this.#input = new InputSigns(setup.sampleRate);
    this.#gaps = new OutputGaps(setup, (next, instead) => {
      this.#sighted(next, instead);
    });
    this.#unsettled('opening', setup.openedAt, setup.openedAt);
  }

  observe(observation: Observation): void {
    const { capture } = this.#setup;
    switch (observation.type) {
      case 'call-pause':
        this.#gaps.pause(observation);
        break;
      case 'output-clock':
        this.#gaps.clock(observation);
        break;
      case 'call-phase':
        this.#gaps.phase(observation);
        break;
      case 'context-lead':
        this.#follow(observation);
        break;
      case 'zero-run':
        if (capture === 'processor') this.#sighted(this.#input.zeros(observation), null);
        break;
      case 'path-shift':
        if (capture === 'processor-compared') this.#sighted(this.#input.compared(observation), null);
        break;
      case 'break':
        this.#broken(observation);
        break;
      case 'measurement':
        this.#measured(observation);
        break;
      default:
        observation satisfies never;
    }
  }

  /** What is known now; the same object until something changes. */
  history(): TripHistory {
    this.#history ??= buildHistory(this.#sightings, this.#measurements, this.#setup);
    return this.#history;
  }

  /**
   * Blocks for which the engine was not called: its frames stand still, the track's go on. With the processor's own input
   * the captured frames stand still too, and only what was under way then is torn.
   */
  #follow({ at, frames: lead }: ContextLead): void {
    const before = this.#lead;
    this.#lead = Math.max(before ?? lead, lead);
    // At first it is still finding its place, like everything else.
    if (before === null || lead <= before || at < this.#setup.openedAt + this.#settleFrames) return;
    const missed = lead - before;
    // Seen in one of the blocks since the last reading, or a little later.
    const from = at - BREAK_SLACK_SECONDS * this.#setup.sampleRate - this.#setup.expectedRoundTrip;
    const shift = this.#setup.capture === 'track' ? missed : 0;
    this.#sighted(exactSighting('calls-missed', 'mix', from, at, shift), null);
  }

  #broken({ kind, at }: Break): void {
    const from = at - BREAK_SLACK_SECONDS * this.#setup.sampleRate;
    if (kind === 'suspended' || kind === 'hidden') {
      this.#sighted(openSighting(kind, 'capture', from, at), null);
    } else {
      this.#unsettled(kind, from, at);
    }
  }

  #unsettled(kind: Sighting['kind'], from: number, at: number): void {
    this.#sighted(openSighting(kind, 'capture', from, at + this.#settleFrames), null);
  }

  #measured(measurement: Measurement): void {
    this.#history = null;
    this.#measurements.push(measurement);
    if (this.#measurements.length > MOST_MEASUREMENTS) this.#measurements.shift();
  }

  #sighted(next: Sighting | null, instead: Sighting | null): void {
    if (next === null) return;
    this.#history = null;
    const at = instead === null ? -1 : this.#sightings.lastIndexOf(instead);
    if (at >= 0) this.#sightings[at] = next;
    else this.#sightings.push(next);
    if (this.#sightings.length > MOST_SIGHTINGS) this.#forget();
  }

  /** Takes the oldest two together: nothing is claimed of what lies between them. */
  #forget(): void {
    const [first, second] = this.#sightings.splice(0, 2);
    if (first === undefined || second === undefined) return;
    const inCapture = ({ axis }: Sighting): number => (axis === 'mix' ? this.#setup.expectedRoundTrip : 0);
    const from = Math.min(first.from + inCapture(first), second.from + inCapture(second));
    const to = Math.max(first.to + inCapture(first), second.to + inCapture(second));
    this.#sightings.unshift(openSighting('long-ago', 'capture', from, to));
  }
}
