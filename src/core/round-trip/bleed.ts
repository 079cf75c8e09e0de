/**
 * Bleed: how loud our own output is in a take.
 *
 * A player who doubles the song plays the same notes at the same time, so likeness of spectra or of onsets says nothing.
 * Bleed alone follows the output sample by sample, through one short filter (loudspeaker, air, room) that is the same all
 * the time. So a filter of a few milliseconds is fitted by least squares to one half of the take and judged by the other
 * half: what a fit to chance finds in one half fails in the other, and what remains is the bleed's power without bias. The
 * same is done at wrong times, tens of milliseconds before and after; where they do nearly as well, it was no bleed.
 */
import type { Decibels, SampleRate } from '../units/index.js';
import { decibels, QuantityError } from '../units/index.js';
import { Correlator } from './correlator.js';
import { solveToeplitz, toeplitzProduct } from './toeplitz.js';
import { whitened } from './whiten.js';

export interface Bleed {
  /** Whether own output was found. */
  readonly found: boolean;
  /** Whether it is above −20 dB in the take; `cannot-tell` where nothing was found, and the bound is above that. */
  readonly matters: 'yes' | 'no' | 'cannot-tell';
  /**
   * Of the output in the take, relative to all of the take while the output sounded, both above 800 Hz; if not found, what
   * it is below. Of a player who doubles the song a part counts as bleed: up to 3 dB more than there is.
   */
  readonly inTake: Decibels;
  /** The same relative to the output as it was sent, above 800 Hz. */
  readonly ofOutput: Decibels;
}

/** Above it, bleed matters: it doubles in every mix that plays the layer it came from. */
const MATTERS = decibels(-20);

/** The filter: so far before the round trip (ringing, a frame or two of error) and so far after it. */
const BEFORE_SECONDS = 0.0005;
const AFTER_SECONDS = 0.006;
/** Wrong times, in milliseconds: uneven, so that no pulse of the music meets several. */
const WRONG_TIMES_MS = [-83, -71, -59, -47, -37, -29, -19, 19, 29, 37, 47, 59, 71, 83];
/** How far the fit must be above the best at a wrong time: own choice, by the trials that the tests list. */
const CLEARLY_BETTER = 2.5;
/** Lower down a period is longer than a player's scatter, so that a doubled note follows the output too. */
const LOWEST_HERTZ = 800;
const SEGMENT = 16_384;
/** Two of each half. */
const LEAST_SEGMENTS = 4;
/** −70 dBFS: under it nothing plays. */
const PLAYING = 10 ** (-70 / 10);
const STEADIED = 1e-3;

/**
 * `sent`: the output as one channel; `captured`: what came in, shifted by the round trip, so that equal frames belong
 * together within 0.5 ms.
 * @returns null where less than 1.4 s of output (at 48 kHz) sounded, or nothing came in
 * @throws {QuantityError} if the two differ in length
 */
export function bleedIn(sent: Float32Array, captured: Float32Array, rate: SampleRate): Bleed | null {
  if (sent.length !== captured.length) {
    throw new QuantityError(`Got ${captured.length} frames when expected ${sent.length}, as many as were sent.`);
  }
  const halves = gather(highPassed(sent, rate), highPassed(captured, rate), rate);
  if (halves === null) return null;
  const [one, other] = halves;
  const before = Math.round(BEFORE_SECONDS * rate);
  const right = fitAt(one, other, before, 0);
  const wrong = WRONG_TIMES_MS.map((ms) => fitAt(one, other, before, Math.round((ms * rate) / 1000)).power);
  const chance = Math.max(...wrong.map(Math.abs));
  const found = right.power > CLEARLY_BETTER * chance;

  const colour = one.sent.map((value, lag) => value + (other.sent[lag] ?? 0));
  const power = Math.max(0, toeplitzProduct(right.first, colour, right.second));
  // Not found: at most what would just have been.
  const share = found ? power / (one.take + other.take) : (CLEARLY_BETTER * chance) / (one.white + other.white);
  const inTake = decibels(10 * Math.log10(Math.min(1, share)));
  const matters = inTake <= MATTERS ? 'no' : found ? 'yes' : 'cannot-tell';
  return {
    found,
    matters,
    inTake,
    ofOutput: decibels(inTake + 10 * Math.log10((one.take + other.take) / (colour[0] ?? 0))),
  };
}

/** Sums over one half of the segments. */
interface Half {
  /** Autocorrelation of the output as sent, and whitened. */
  readonly sent: Float64Array;
  readonly whiteSent: Float64Array;
  /** Whitened: how the take follows the output, by lag; `reach` is lag 0. */
  readonly crossed: Float64Array;
  readonly reach: number;
  /** Power of the take, as captured and whitened. */
  take: number;
  white: number;
}

function gather(sent: Float32Array, captured: Float32Array, rate: number): readonly [Half, Half] | null {
  const taps = tapsAt(rate);
  const reach = Math.round(0.1 * rate);
  const half = (): Half => ({
    sent: new Float64Array(taps),
    whiteSent: new Float64Array(taps),
    crossed: new Float64Array(2 * reach + 1),
    reach,
    take: 0,
    white: 0,
  });
  const halves = [half(), half()] as const;
  const [whiteSent, whiteTake] = whitened(sent, captured);
  const correlator = new Correlator(new Float32Array(SEGMENT), 2 * reach + 1);
  const plainly = new Correlator(new Float32Array(SEGMENT), taps);
  let segments = 0;
  for (let from = 0; from + SEGMENT <= sent.length; from += SEGMENT) {
    const to = from + SEGMENT;
    if (powerOf(sent.subarray(from, to)) <= PLAYING * SEGMENT) continue;
    const into = halves[segments++ % 2 === 0 ? 0 : 1];
    correlator.follow(whiteSent.subarray(from, to));
    const [crossed, own] = correlator.correlatePair(
      excerpt(whiteTake, from - reach, to + reach),
      excerpt(whiteSent, from, to),
    );
    plainly.follow(sent.subarray(from, to));
    const plain = plainly.correlate(excerpt(sent, from, to));
    addTo(into.crossed, crossed);
    addTo(into.whiteSent, own);
    addTo(into.sent, plain);
    into.take += powerOf(captured.subarray(from, to));
    into.white += powerOf(whiteTake.subarray(from, to));
  }
  return segments < LEAST_SEGMENTS || halves.some(({ take }) => take === 0) ? null : halves;
}

/** Two first-order sections; what is not finite is silence. */
function highPassed(samples: Float32Array, rate: number): Float32Array {
  const keep = Math.exp((-2 * Math.PI * LOWEST_HERTZ) / rate);
  let [once, twice, before, onceBefore] = [0, 0, 0, 0];
  return samples.map((given) => {
    const sample = Number.isFinite(given) ? given : 0;
    once = keep * (once + sample - before);
    twice = keep * (twice + once - onceBefore);
    [before, onceBefore] = [sample, once];
    return twice;
  });
}

const tapsAt = (rate: number): number => Math.round((BEFORE_SECONDS + AFTER_SECONDS) * rate);

/** Two filters, each fitted to one half, and the power that each explains of the other half. */
function fitAt(
  one: Half,
  other: Half,
  before: number,
  late: number,
): { power: number; first: Float64Array; second: Float64Array } {
  const taps = one.sent.length;
  const start = one.reach + late - before;
  const [crossedOne, crossedOther] = [one, other].map(({ crossed }) => crossed.subarray(start, start + taps));
  const first = solveToeplitz(steadied(one.whiteSent), crossedOne ?? []);
  const second = solveToeplitz(steadied(other.whiteSent), crossedOther ?? []);
  const dot = (a: Float64Array, b: Float64Array | undefined): number =>
    a.reduce((sum, x, i) => sum + x * (b?.[i] ?? 0), 0);
  return { power: dot(first, crossedOther) + dot(second, crossedOne), first, second };
}

const steadied = (correlation: Float64Array): Float64Array =>
  correlation.map((value, lag) => (lag === 0 ? value * (1 + STEADIED) : value));

function excerpt(samples: Float32Array, from: number, to: number): Float32Array {
  const out = new Float32Array(to - from);
  out.set(samples.subarray(Math.max(0, from), to), Math.max(0, -from));
  return out;
}

function addTo(sum: Float64Array, values: Float64Array): void {
  for (let i = 0; i < sum.length; i++) sum[i] = (sum[i] ?? 0) + (values[i] ?? 0) * SEGMENT;
}

const powerOf = (samples: Float32Array): number => samples.reduce((sum, x) => sum + x * x, 0);
