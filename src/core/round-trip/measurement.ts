/**
 * A measurement of the round trip: three probes, found at the same frame. Every refusal carries the figures that prove
 * it. Any thread, not in `process`: about 0.1 s for three excerpts of the longest probe.
 */
import type { Result } from '../result/result.js';
import { failure, success } from '../result/result.js';
import type { Decibels, Frames } from '../units/index.js';
import { decibels, decibelsFromGain, frames, gain, QuantityError } from '../units/index.js';
import type { Clipping } from './clipping.js';
import { clippingIn } from './clipping.js';
import { Correlator } from './correlator.js';
import type { Arrival, SearchLimits, SearchRefusal } from './search.js';
import { ROOM_REFLECTIONS, searchCorrelation } from './search.js';

export interface MeasurementInput {
  /** ±1 samples: what was sent, whatever its level. */
  readonly sequence: Int8Array;
  /**
   * One for each time the probe was sent: the planar channels of what came in, from the frame at which its first sample
   * was rendered on, at least `latest` and the sequence long. Leave more time than that between two probes.
   */
  readonly captures: readonly (readonly Float32Array[])[];
  /** The input channel in use. */
  readonly channel: number;
  /** The longest round trip that is looked for. */
  readonly latest: Frames;
}

export interface Measurement {
  /** The round trip. */
  readonly frames: Frames;
  /** The least of them. */
  readonly prominence: number;
  /** −1 where the path inverts. */
  readonly sign: 1 | -1;
  /** Mean of them, dBFS. */
  readonly level: Decibels;
  /** Mean of them, −0.5 … 0.5 frames: for information only. */
  readonly offset: number;
}

export type MeasurementRefusal =
  | SearchRefusal
  | { readonly type: 'silence'; readonly peak: Decibels }
  | ({ readonly type: 'clipped' } & Clipping)
  | { readonly type: 'wrong-channel'; readonly channel: number; readonly frames: Frames; readonly level: Decibels }
  | { readonly type: 'disagree'; readonly values: readonly Frames[]; readonly spread: Frames };

const PROBES = 3;
/** −90 dBFS, about the least significant bit of 16. */
const SILENCE = decibels(-90);
/** Own choices: a pair of equal frames happens, this many don't. */
const FULL_SCALE_FRAMES = 3;
const FLAT_TOPS = 8;
/** The correlation coefficient above which a return is the sequence itself, which has flat tops by nature. */
const EXACT_COPY = 0.95;

/**
 * Three probes or more.
 * @throws {QuantityError} for fewer captures, for captures too short, or without the channel in use
 */
export const measureRoundTrip = (input: MeasurementInput): Result<Measurement, MeasurementRefusal> =>
  measureWith(input, PROBES);

/**
 * One probe or more: enough to see whether an earlier measurement still holds, not to replace it.
 * @throws {QuantityError} as above
 */
export const checkRoundTrip = (input: MeasurementInput): Result<Measurement, MeasurementRefusal> =>
  measureWith(input, 1);

function measureWith(input: MeasurementInput, probes: number): Result<Measurement, MeasurementRefusal> {
  const excerpts = input.captures.map((channels) => channels[input.channel] ?? new Float32Array(0));
  check(input, excerpts, probes);
  const searching = new Searching(input);
  const peak = decibelsFromGain(gain(Math.min(...excerpts.map(peakOf))));
  if (peak < SILENCE) return elsewhere(input, searching) ?? failure({ type: 'silence', peak });

  const found = searching.search(excerpts);
  const loop = found.find((each) => !each.ok && each.reason.type === 'monitoring-loop');
  if (loop?.ok === false) return loop;
  const clipping = excerpts.map((samples, i) => clippingOf(samples, found[i], input.sequence));
  const clipped = clipping.find((each) => each.fullScale >= FULL_SCALE_FRAMES || each.flatTops >= FLAT_TOPS);
  if (clipped !== undefined) return failure({ type: 'clipped', ...clipped });
  const refused = found.find((each) => !each.ok);
  if (refused?.ok === false) return elsewhere(input, searching) ?? refused;
  return agreed(found.flatMap((each) => (each.ok ? [each.value] : [])));
}

/** All arrivals as one figure, if they are one. */
function agreed(arrivals: readonly Arrival[]): Result<Measurement, MeasurementRefusal> {
  const values = arrivals.map((arrival) => arrival.frames);
  const spread = frames(Math.max(...values) - Math.min(...values));
  const [first] = arrivals;
  if (first === undefined || spread > 0) return failure({ type: 'disagree', values, spread });
  const mean = (of: (arrival: Arrival) => number): number =>
    arrivals.reduce((sum, arrival) => sum + of(arrival), 0) / arrivals.length;
  return success({
    frames: first.frames,
    prominence: Math.min(...arrivals.map(({ prominence }) => prominence)),
    sign: first.sign,
    level: decibels(mean(({ level }) => level)),
    offset: mean(({ offset }) => offset),
  });
}

/** Where the channel in use has nothing: another one, on which the measurement succeeds. */
function elsewhere(input: MeasurementInput, searching: Searching): Result<never, MeasurementRefusal> | null {
  const channels = Math.min(...input.captures.map((each) => each.length));
  for (let channel = 0; channel < channels; channel++) {
    if (channel === input.channel) continue;
    const excerpts = input.captures.map((each) => each[channel] ?? new Float32Array(0));
    if (decibelsFromGain(gain(Math.min(...excerpts.map(peakOf)))) < SILENCE) continue;
    const found = searching.search(excerpts);
    const there = agreed(found.flatMap((each) => (each.ok ? [each.value] : [])));
    if (found.some((each) => !each.ok) || !there.ok) continue;
    return failure({ type: 'wrong-channel', channel, frames: there.value.frames, level: there.value.level });
  }
  return null;
}

class Searching {
  readonly #correlator: Correlator;
  readonly #limits: SearchLimits;

  /** Half a sequence beyond the latest lag, what arrives too late is still seen, if by less of it. */
  constructor({ sequence, latest }: MeasurementInput) {
    this.#correlator = new Correlator(sequence, latest + (sequence.length >> 1));
    this.#limits = { sequence: frames(sequence.length), latest, reflections: ROOM_REFLECTIONS };
  }

  search(excerpts: readonly Float32Array[]): readonly Result<Arrival, SearchRefusal>[] {
    const found: Result<Arrival, SearchRefusal>[] = [];
    for (let i = 0; i < excerpts.length; i += 2) {
      const [first, second] = [excerpts[i] ?? new Float32Array(0), excerpts[i + 1]];
      const [one, other] = this.#correlator.correlatePair(first, second ?? new Float32Array(0));
      found.push(searchCorrelation(one, this.#limits));
      if (second !== undefined) found.push(searchCorrelation(other, this.#limits));
    }
    return found;
  }
}

function clippingOf(
  samples: Float32Array,
  found: Result<Arrival, SearchRefusal> | undefined,
  sequence: Int8Array,
): Clipping {
  const clipping = clippingIn(samples);
  return found?.ok === true && isExactCopy(samples, found.value.frames, sequence)
    ? { ...clipping, flatTops: 0 }
    : clipping;
}

function isExactCopy(samples: Float32Array, lag: Frames, sequence: Int8Array): boolean {
  const product = sequence.reduce((sum, value, n) => sum + value * (samples[lag + n] ?? 0), 0);
  const power = samples.subarray(lag, lag + sequence.length).reduce((sum, x) => sum + x * x, 0);
  return Math.abs(product) > EXACT_COPY * Math.sqrt(power * sequence.length);
}

const peakOf = (samples: Float32Array): number =>
  samples.reduce((highest, value) => (Number.isFinite(value) ? Math.max(highest, Math.abs(value)) : highest), 0);

function check(input: MeasurementInput, excerpts: readonly Float32Array[], probes: number): void {
  const { captures, channel, latest, sequence } = input;
  if (captures.length < probes) throw new QuantityError(`Got ${captures.length} captures when expected ${probes}.`);
  const shortest = Math.min(...excerpts.map(({ length }) => length));
  const needed = latest + sequence.length;
  if (shortest < needed) {
    throw new QuantityError(`Got ${shortest} frames of channel ${channel} when expected ${needed} or more.`);
  }
}
