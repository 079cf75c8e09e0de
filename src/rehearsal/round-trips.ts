/**
 * Where it was played: the round trip as it is measured and watched, and the takes of this opening that are moved by it.
 * The rehearsal tells it what is heard, observed and recorded.
 */
import type { EngineReport } from '../core/render/commands.js';
import type { Frames, Milliseconds } from '../core/units/index.js';
import type { Clock } from '../ports/clock.js';
import type { SoundObservation, SoundOpened } from '../ports/sound.js';
import { AlignmentDesk, type AlignmentPorts } from './alignment-desk.js';
import type { MeasuringOrder } from './round-trip-view.js';
import { RoundTripDesk } from './round-trip-desk.js';
import type { RoundTripView } from './round-trip-view.js';
import type { SetUpDesk } from './set-up-desk.js';
import type { SoundDesk } from './sound-desk.js';

export interface RoundTripsPorts {
  readonly sound: SoundDesk;
  readonly setUp: SetUpDesk;
  readonly clock: Clock;
  readonly aligned: AlignmentPorts['aligned'];
  readonly changed: () => void;
}

export class RoundTrips {
  readonly #sound: SoundDesk;
  readonly #changed: () => void;
  readonly #desk: RoundTripDesk;
  readonly #alignment: AlignmentDesk;

  constructor({ sound, setUp, clock, aligned, changed }: RoundTripsPorts) {
    this.#sound = sound;
    this.#changed = changed;
    this.#alignment = new AlignmentDesk({
      aligned,
      tripNow: (trip) => {
        this.#desk.hold(trip);
      },
    });
    this.#desk = new RoundTripDesk({
      sound,
      setUp,
      clock,
      found: (from, to, roundTrip, how) => {
        this.#alignment.observe({ type: 'measurement', from, to, roundTrip, how });
        this.#alignment.use(sound.roundTrip, to);
      },
      steps: () => this.#alignment.steps,
      advice: () => this.#alignment.advice,
      changed,
    });
  }

  get alignment(): AlignmentDesk {
    return this.#alignment;
  }

  opened(opened: SoundOpened): void {
    this.#alignment.opened(opened);
    this.#desk.opened(opened);
    this.#alignment.use(this.#sound.roundTrip, null);
  }

  closed(): void {
    this.#desk.closed();
    this.#alignment.closed();
  }

  measure(order: MeasuringOrder, heard: Frames): void {
    this.#desk.measure(order, heard);
  }

  check(way: MeasuringOrder['way'], heard: Frames): void {
    this.#desk.check(way, heard);
  }

  leave(): void {
    this.#desk.leave();
  }

  /** The player gave the figure, or took it back. */
  state(ms: Milliseconds | null): void {
    this.#sound.stateRoundTrip(ms);
    this.#sound.send({ type: 'set-round-trip', roundTrip: this.#sound.roundTrip });
    this.#alignment.use(this.#sound.roundTrip, null);
  }

  hear(report: EngineReport): void {
    this.#desk.hear(report);
  }

  observe(observation: SoundObservation): void {
    if (isOfTheTrip(observation)) this.#alignment.observe(observation);
  }

  /** Time has passed. */
  look(now: Milliseconds, heard: Frames): void {
    this.#alignment.look(now);
    if (this.#desk.look(heard)) this.#changed();
  }

  view(heard: Frames): RoundTripView | null {
    return this.#desk.view(heard);
  }
}

type OfTheTrip = Parameters<AlignmentDesk['observe']>[0];

/** Changes of devices and of the page are told to the player; the watch has breaks for what they mean. */
function isOfTheTrip(observation: SoundObservation): observation is Extract<SoundObservation, OfTheTrip> {
  switch (observation.type) {
    case 'call-pause':
    case 'output-clock':
    case 'call-phase':
    case 'context-lead':
    case 'zero-run':
    case 'path-shift':
    case 'break':
      return true;
    default:
      return false;
  }
}
