/**
 * A measurement of the round trip while it goes on: probes are sent, one after another, and what came in is searched for
 * them. The whole measurement sends three, which must agree to the frame; a check sends one, and takes a second.
 */
import type { EngineReport } from '../core/render/commands.js';
import type { Measurement } from '../core/round-trip/measurement.js';
import type { ProbeOrder } from '../core/round-trip/sequence.js';
import { maximumLengthSequence, probeSignal } from '../core/round-trip/sequence.js';
import type { Result } from '../core/result/result.js';
import type { Frames, SampleRate } from '../core/units/index.js';
import { addFrames, frames, framesFromSeconds, seconds, secondsFromFrames } from '../core/units/index.js';
import type { MeasuringOrder, MeasuringRefusal, MeasuringView } from './round-trip-view.js';
import type { SoundDesk } from './sound-desk.js';

type Heard = Extract<EngineReport, { type: 'probe-heard' }>;

export interface MeasuringDone {
  readonly order: MeasuringOrder;
  /** Capture frames from the first shot to the end of the last. */
  readonly from: Frames;
  readonly to: Frames;
  readonly result: Result<Measurement, MeasuringRefusal>;
}

export interface MeasuringPorts {
  readonly sound: SoundDesk;
  readonly rate: SampleRate;
  readonly changed: () => void;
  readonly done: (done: MeasuringDone) => void;
}

/** Measured on one machine: 15 s pass before a round trip stands still. */
const SETTLE_SECONDS = 15;
const SHOTS = { whole: 3, check: 1 } as const;
const ORDERS: Readonly<Record<MeasuringOrder['kind'], ProbeOrder>> = { whole: 15, check: 14 };
/** The longest round trip that is looked for: 1 s. */
const LATEST_SECONDS = seconds(1);
/** A check looks so far beyond what was known. */
const CHECK_BEYOND_SECONDS = seconds(0.25);

interface Going {
  readonly order: MeasuringOrder;
  readonly channel: number;
  readonly sequence: Int8Array;
  readonly signal: Float32Array;
  readonly latest: Frames;
  readonly heard: Heard[];
}

export class Measuring {
  readonly #ports: MeasuringPorts;
  /** Asked for, and waiting for the sound to settle. */
  #waiting: MeasuringOrder | null = null;
  #going: Going | null = null;
  #isSearching = false;

  constructor(ports: MeasuringPorts) {
    this.#ports = ports;
  }

  /** @param heard the frame that is heard now: frames count from the opening. */
  view(heard: Frames): MeasuringView | null {
    const unsettled = this.#waiting === null ? 0 : Math.ceil(this.#unsettledSeconds(heard));
    if (unsettled > 0) return { state: 'settling', seconds: unsettled };
    if (this.#waiting !== null) return { state: 'sending', shot: 1, of: SHOTS[this.#waiting.kind] };
    if (this.#going === null) return null;
    if (this.#isSearching) return { state: 'searching' };
    return { state: 'sending', shot: this.#going.heard.length + 1, of: SHOTS[this.#going.order.kind] };
  }

  get isGoing(): boolean {
    return this.#waiting !== null || this.#going !== null;
  }

  /** Begins once the sound has settled. A second order while one is under way is no order. */
  order(order: MeasuringOrder, heard: Frames): void {
    if (this.isGoing) return;
    this.#waiting = order;
    this.look(heard);
    this.#ports.changed();
  }

  /** Time has passed. */
  look(heard: Frames): void {
    const order = this.#waiting;
    if (order === null || this.#unsettledSeconds(heard) > 0) return;
    this.#begin(order);
  }

  hear(report: EngineReport): void {
    const going = this.#going;
    if (going === null || this.#isSearching) return;
    if (report.type === 'probe-heard') this.#take(going, report);
    if (report.type === 'probe-dropped') this.#refuse(going.order, { type: 'stopped' });
    if (report.type === 'refused' && report.command === 'send-probe') {
      this.#refuse(going.order, { type: report.why === 'monitor-is-on' ? 'monitor-is-on' : 'still-playing' });
    }
  }

  /** Something is to be played: what has waited would come when nobody expects it, with headphones on. */
  interrupt(): void {
    if (this.#waiting !== null) this.end('stopped');
  }

  /** The player lets it be, or the sound is gone. What is still under way is no longer listened for. */
  end(why: 'stopped' | 'sound-gone'): void {
    const order = this.#waiting ?? this.#going?.order;
    if (this.#going !== null && why === 'stopped') this.#ports.sound.send({ type: 'drop-probe' });
    if (order !== undefined) this.#refuse(order, { type: why });
  }

  #begin(order: MeasuringOrder): void {
    const { sound, rate } = this.#ports;
    this.#waiting = null;
    const sequence = maximumLengthSequence(ORDERS[order.kind]);
    const latest =
      order.kind === 'whole'
        ? framesFromSeconds(LATEST_SECONDS, rate)
        : addFrames(sound.roundTrip.frames, framesFromSeconds(CHECK_BEYOND_SECONDS, rate));
    const signal = probeSignal(sequence, order.level);
    this.#going = { order, channel: sound.channel, sequence, signal, latest, heard: [] };
    this.#send(this.#going);
    this.#ports.changed();
  }

  #send({ signal, sequence, latest }: Going): void {
    const { sound } = this.#ports;
    // Half a sequence beyond the latest, so that what comes too late is seen to come too late.
    const listens = latest + sequence.length + (sequence.length >> 1);
    const heard = new Float32Array(listens * sound.inputChannels);
    sound.send({ type: 'send-probe', samples: signal.slice(), heard });
  }

  #take(going: Going, report: Heard): void {
    going.heard.push(report);
    if (going.heard.length < SHOTS[going.order.kind]) this.#send(going);
    else void this.#search(going);
    this.#ports.changed();
  }

  async #search(going: Going): Promise<void> {
    this.#isSearching = true;
    const { order, channel, sequence, latest, heard } = going;
    const { measureRoundTrip, checkRoundTrip } = await import('../core/round-trip/measurement.js');
    const captures = heard.map(({ buffer, channels, frames: count }) =>
      Array.from({ length: channels }, (_, c) => buffer.subarray(c * count, (c + 1) * count)),
    );
    const measure = order.kind === 'whole' ? measureRoundTrip : checkRoundTrip;
    const result = measure({ sequence, captures, channel, latest });
    this.#isSearching = false;
    if (this.#going !== going) return;
    this.#going = null;
    const [first, last] = [heard[0], heard.at(-1)];
    const from = first?.at ?? frames(0);
    const to = last === undefined ? from : addFrames(last.at, last.frames);
    this.#ports.done({ order, from, to, result });
    this.#ports.changed();
  }

  #refuse(order: MeasuringOrder, reason: MeasuringRefusal): void {
    this.#waiting = null;
    this.#going = null;
    this.#isSearching = false;
    this.#ports.done({ order, from: frames(0), to: frames(0), result: { ok: false, reason } });
    this.#ports.changed();
  }

  #unsettledSeconds(heard: Frames): number {
    return SETTLE_SECONDS - secondsFromFrames(heard, this.#ports.rate);
  }
}
