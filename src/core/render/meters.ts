/** Peak meters of the inputs, the house and the foldback, read from time to time. */
import { PeakMeter } from '../limiter/meter.js';
import type { SampleRate } from '../units/index.js';
import type { StereoBlock } from './stereo.js';

export interface Peak {
  /** Highest magnitude since the last reading, linear; samples, not true peaks. */
  readonly peak: number;
  /** Highest of late, held for 1.5 s. */
  readonly held: number;
}

export interface Peaks {
  /** Of each channel. */
  readonly input: readonly Peak[];
  /** The higher of both sides, as after the limiter. */
  readonly house: Peak;
  readonly foldback: Peak;
}

/** What an input that is missing brings. */
const NOTHING = new Float32Array(0);

/** One or two channels that are read as one. */
class Meter {
  readonly reading = { peak: 0, held: 0 };
  readonly #meters: readonly PeakMeter[];
  #since = 0;

  constructor(rate: SampleRate, channels: number) {
    this.#meters = Array.from({ length: channels }, () => new PeakMeter(rate));
  }

  take(channel: number, samples: Float32Array, count: number): void {
    const meter = this.#meters[channel];
    if (meter === undefined) return;
    meter.process(samples, count);
    if (meter.peak > this.#since) this.#since = meter.peak;
  }

  read(): void {
    this.reading.peak = this.#since;
    this.#since = 0;
    this.reading.held = 0;
    for (let c = 0; c < this.#meters.length; c++) {
      this.reading.held = Math.max(this.reading.held, this.#meters[c]?.held ?? 0);
    }
  }
}

/** Audio thread; allocates in the constructor only. */
export class Meters {
  readonly #input: readonly Meter[];
  readonly #house: Meter;
  readonly #foldback: Meter;
  readonly #peaks: Peaks;

  constructor(rate: SampleRate, inputs: number) {
    this.#input = Array.from({ length: inputs }, () => new Meter(rate, 1));
    this.#house = new Meter(rate, 2);
    this.#foldback = new Meter(rate, 2);
    this.#peaks = {
      input: this.#input.map((meter) => meter.reading),
      house: this.#house.reading,
      foldback: this.#foldback.reading,
    };
  }

  /** A channel that is missing is silence. */
  takeInput(input: readonly Float32Array[], count: number): void {
    for (let c = 0; c < this.#input.length; c++) this.#input[c]?.take(0, input[c] ?? NOTHING, count);
  }

  takeBuses(house: StereoBlock, foldback: StereoBlock, count: number): void {
    this.#house.take(0, house[0], count);
    this.#house.take(1, house[1], count);
    this.#foldback.take(0, foldback[0], count);
    this.#foldback.take(1, foldback[1], count);
  }

  /** The peaks since the last call: always the same object, filled anew. */
  read(): Peaks {
    for (let c = 0; c < this.#input.length; c++) this.#input[c]?.read();
    this.#house.read();
    this.#foldback.read();
    return this.#peaks;
  }
}
