/**
 * How much of a sound is new, every 2.7 ms or so: spectral flux in decibels, averaged over bands of which the stronger
 * weigh more. Each band is compared with the loudest that it and its neighbours were from 8 to 32 ms before: so long a
 * look back keeps the single periods of a low note (down to 31 Hz) and the ripple of noise from counting as new, and the
 * neighbours do so for vibrato (after Böck and Widmer, "Maximum filter vibrato suppression for onset detection",
 * DAFx-13; from memory).
 */
import type { SampleRate } from '../units/index.js';
import { bandEdges } from './bands.js';
import { PowerSpectra } from './power-spectra.js';

/** Frames a second that show all bands. */
const ENOUGH = 48_000;
const WINDOW_SECONDS = 0.0214;
const HOPS_IN_WINDOW = 8;
/** The look back, in hops. */
const NEAREST = 3;
const FARTHEST = 12;
const ROWS = FARTHEST + 1;
/** Own choices: 50 dB under the loudest moment, and under −100 dBFS in any case, is silence. */
const QUIET = 1e-5;
const SILENT = 1e-10;
/** Bands weigh as this power of their energy (own choice, by trial): the highs of a pluck count, hiss does not. */
const WEIGHT_POWER = 0.15;

export interface Novelty {
  /** Frames from one value to the next. */
  readonly hop: number;
  /** Frame at the middle of the first value's window. */
  readonly first: number;
  /** Decibels; 0 where nothing is new, or less than 32 ms came before. Empty for less than a window. */
  readonly values: Float64Array;
}

/** Only whole windows are looked at: of the first 45 ms and the last 10 ms nothing is said. */
export function noveltyOf(samples: Float32Array, rate: SampleRate): Novelty {
  const fold = Math.max(1, Math.round(rate / ENOUGH));
  const { hop, first, values } = noveltyAtOnce(fold === 1 ? samples : folded(samples, fold), rate / fold);
  return { hop: hop * fold, first: first * fold, values };
}

/** Means of `fold` samples: at high rates half the work, and nothing is lost that a band sees. */
function folded(samples: Float32Array, fold: number): Float32Array {
  return Float32Array.from({ length: Math.floor(samples.length / fold) }, (_, i) => {
    let sum = 0;
    for (let k = 0; k < fold; k++) sum += samples[i * fold + k] ?? 0;
    return sum / fold;
  });
}

function noveltyAtOnce(samples: Float32Array, rate: number): Novelty {
  const size = 2 ** Math.round(Math.log2(WINDOW_SECONDS * rate));
  const hop = size / HOPS_IN_WINDOW;
  const values = new Float64Array(Math.max(0, Math.floor((samples.length - size) / hop) + 1));
  const news = new BandNews(bandEdges(size, rate), silenceIn(samples, size));
  const spectra = new PowerSpectra(size);
  const window = Float64Array.from({ length: size }, (_, i) => 0.5 - 0.5 * Math.cos((2 * Math.PI * (i + 0.5)) / size));
  const [one, other] = [new Float64Array(size), new Float64Array(size)];
  const [onePower, otherPower] = [new Float64Array(size / 2 + 1), new Float64Array(size / 2 + 1)];
  for (let n = 0; n < values.length; n += 2) {
    const at = n * hop;
    for (let i = 0; i < size; i++) {
      const weight = window[i] ?? 0;
      one[i] = weight * (samples[at + i] ?? 0);
      other[i] = weight * (samples[at + hop + i] ?? 0);
    }
    spectra.read(one, other, onePower, otherPower);
    values[n] = news.take(onePower);
    // A last odd window has no partner: writing past the end of a typed array does nothing.
    values[n + 1] = news.take(otherPower);
  }
  return { hop, first: size / 2, values };
}

/**
 * The power of a window's spectrum under which it is silent: by Parseval, 3/16 of its size times its sum of squares.
 * What is not finite is left out.
 */
function silenceIn(samples: Float32Array, size: number): number {
  let loudest = (SILENT / QUIET) * size;
  for (let at = 0; at < samples.length; at += size / 2) {
    let sum = 0;
    for (let i = at; i < at + size; i++) sum += (samples[i] ?? 0) ** 2;
    if (sum > loudest && sum < Infinity) loudest = sum;
  }
  return ((3 * size) / 16) * loudest * QUIET;
}

/** Remembers the bands of the last windows and says how much of the newest is new. */
class BandNews {
  readonly #edges: Uint32Array;
  readonly #bands: number;
  readonly #floor: number;
  readonly #levels: Float64Array;
  /** The last ROWS windows: in each band, the level of it or of its louder neighbour. */
  readonly #widened: Float64Array;
  #taken = 0;

  constructor(edges: Uint32Array, silence: number) {
    this.#edges = edges;
    this.#bands = edges.length - 1;
    this.#floor = silence / this.#bands;
    this.#levels = new Float64Array(this.#bands);
    this.#widened = new Float64Array(ROWS * this.#bands);
  }

  take(power: Float64Array): number {
    const levels = this.#levels;
    for (let band = 0; band < this.#bands; band++) levels[band] = this.#levelOf(band, power);
    const row = this.#taken % ROWS;
    let fresh = 0;
    let weights = 0;
    for (let band = 0; band < this.#bands; band++) {
      const level = levels[band] ?? 0;
      this.#widened[row * this.#bands + band] = Math.max(level, levels[band - 1] ?? level, levels[band + 1] ?? level);
      const weight = 10 ** ((level * WEIGHT_POWER) / 10);
      weights += weight;
      fresh += weight * Math.max(0, level - this.#loudestBefore(row, band));
    }
    return this.#taken++ < FARTHEST ? 0 : fresh / weights;
  }

  #levelOf(band: number, power: Float64Array): number {
    const end = this.#edges[band + 1] ?? 0;
    let energy = this.#floor;
    for (let bin = this.#edges[band] ?? 0; bin < end; bin++) energy += power[bin] ?? 0;
    return 10 * Math.log10(energy);
  }

  #loudestBefore(row: number, band: number): number {
    let loudest = -Infinity;
    for (let back = NEAREST; back <= FARTHEST; back++) {
      loudest = Math.max(loudest, this.#widened[((row + ROWS - back) % ROWS) * this.#bands + band] ?? 0);
    }
    return loudest;
  }
}
