/** Input and output of different devices: from measurements a minute apart, how far their clocks drift. */
import type { ClockLine, TimedRoundTrip } from '../core/round-trip/clock-line.js';
import { fitClockLine, roundTripAt } from '../core/round-trip/clock-line.js';
import type { Frames, SampleRate } from '../core/units/index.js';
import { secondsFromFrames } from '../core/units/index.js';
import type { SoundOpened } from '../ports/sound.js';
import type { ClocksView } from './round-trip-view.js';

/** Crystals are good to 100 parts in a million or better, each way for each (common practice, no source); and a half more. */
const FARTHEST_APART = 300e-6;
const ROUNDED = 1;

export class TwoClocks {
  readonly #rate: SampleRate;
  #measurements: readonly TimedRoundTrip[] = [];
  #steps = 0;
  #line: ClockLine | null = null;
  #drifts = false;

  private constructor(rate: SampleRate) {
    this.#rate = rate;
  }

  /** Null where both are of one device, or nobody can tell: a step would be taken for a drift. */
  static of({ inputName, outputName, sampleRate }: SoundOpened): TwoClocks | null {
    const [input, output] = [deviceIn(inputName), deviceIn(outputName)];
    return input === '' || output === '' || input === output ? null : new TwoClocks(sampleRate);
  }

  get view(): ClocksView | null {
    return this.#line === null ? null : { kind: this.#line.kind, ppm: this.#line.ppm };
  }

  /** Whether the round trip is known to change all the time; how fast, once there is a line. */
  get isDrifting(): boolean {
    return this.#drifts || this.#line?.kind === 'two-clocks';
  }

  /**
   * The middle of values, measured one after another between two frames, that moved one way and no faster than clocks
   * drift apart. Null for others: something else is wrong.
   */
  middleOf(values: readonly Frames[], from: Frames, to: Frames): Frames | null {
    const steps = values.slice(1).map((value, i) => value - (values[i] ?? value));
    const goesOneWay = steps.every((step) => step >= 0) || steps.every((step) => step <= 0);
    const most = FARTHEST_APART * (to - from) + ROUNDED;
    const moved = Math.abs((values.at(-1) ?? 0) - (values[0] ?? 0));
    return goesOneWay && moved <= most ? (values[values.length >> 1] ?? null) : null;
  }

  /** @param steps how often the round trip was seen to step so far: what was measured before a step lies on another line. */
  measured(frames: Frames, at: Frames, steps: number, drifts: boolean): void {
    this.#drifts = drifts;
    const before = steps === this.#steps ? this.#measurements : [];
    this.#steps = steps;
    this.#measurements = [...before, { at: secondsFromFrames(at, this.#rate), frames }];
    const fitted = fitClockLine(this.#measurements, this.#rate);
    if (fitted.ok) this.#line = fitted.value;
    else if (fitted.reason.type === 'stepped') this.#measurements = this.#measurements.slice(-1);
    if (!fitted.ok) this.#line = null;
  }

  /** Null where one figure holds, or the line is not known yet. */
  roundTripAt(frame: Frames): Frames | null {
    const line = this.#line;
    if (line?.kind !== 'two-clocks') return null;
    return roundTripAt(line, secondsFromFrames(frame, this.#rate), this.#rate);
  }
}

/** Systems name a device twice, by what it is for and in brackets by itself: "Microphone (Two-channel interface)". */
function deviceIn(name: string): string {
  return (/\(([^()]+)\)\s*$/.exec(name)?.[1] ?? name).trim().toLowerCase();
}
