/**
 * How much of a sound is new, every 2.7 ms or so: spectral flux in decibels, weighted towards the bands that matter.
 * Each band is compared with the loudest that it and its neighbours were from 32 to 8 ms before. The wide look back keeps
 * the periods of a low note (down to 31 Hz) and the ripple of noise from counting as new; the neighbours do so for
 * vibrato (the idea of Böck and Widmer, "Maximum filter vibrato suppression for onset detection", DAFx-13, from memory).
 */
import type { SampleRate } from '../units/index.js';
import { bandEdges } from './bands.js';
import { PowerSpectra } from './fft.js';

const WINDOW_SECONDS = 0.0214;
const HOPS_IN_WINDOW = 8;
/** The look back, in hops. */
const NEAREST = 3;
const FARTHEST = 12;
const ROWS = FARTHEST + 1;
/** What is so far under the loudest window is silence: 50 dB, own choice. */
const QUIET = 1e-5;
/** And so is what lies under −100 dBFS: dither and the last bits of a converter. */
const SILENT = 1e-10;
/** Bands weigh as the 0.15th power of their energy (own choice by trial): quiet highs of a pluck count, hiss does not. */
const WEIGHT_POWER = 0.15;

export interface Novelty {
  /** Frames from one value to the next. */
  readonly hop: number;
  /** Frame at the middle of the first value's window. */
  readonly first: number;
  /** Decibels, 0 where nothing is new or less than 32 ms came before. Empty for less than a window. */
  readonly values: Float64Array;
}

export function noveltyOf(samples: Float32Array, rate: SampleRate): Novelty {
  const size = 2 ** Math.round(Math.log2(WINDOW_SECONDS * rate));
  const hop = size / HOPS_IN_WINDOW;
  const values = new Float64Array(Math.max(0, Math.floor((samples.length - size) / hop) + 1));
  const news = new BandNews(size, bandEdges(size, rate), silenceOf(samples, size));
  const spectra = new PowerSpectra(size);
  const window = Float64Array.from({ length: size }, (_, i) => 0.5 - 0.5 * Math.cos((2 * Math.PI * (i + 0.5)) / size));
  const pieces = [new Float64Array(size), new Float64Array(size)] as const;
  const powers = [new Float64Array(size / 2 + 1), new Float64Array(size / 2 + 1)] as const;
  for (let n = 0; n < values.length; n += 2) {
    for (let i = 0; i < size; i++) {
      pieces[0][i] = (window[i] ?? 0) * (samples[n * hop + i] ?? 0);
      pieces[1][i] = (window[i] ?? 0) * (samples[(n + 1) * hop + i] ?? 0);
    }
    spectra.read(pieces[0], pieces[1], powers[0], powers[1]);
    values[n] = news.take(powers[0]);
    if (n + 1 < values.length) values[n + 1] = news.take(powers[1]);
  }
  return { hop, first: size / 2, values };
}

/** Power under which a window is silent. By Parseval, a windowed piece's power is 3/16 · size of its sum of squares. */
function silenceOf(samples: Float32Array, size: number): number {
  let loudest = SILENT * size / QUIET;
  for (let at = 0; at < samples.length; at += size / 2) {
    let sum = 0;
    for (let i = at; i < at + size; i++) sum += (samples[i] ?? 0) ** 2;
    loudest = Math.max(loudest, sum);
  }
  return ((3 * size) / 16) * loudest * QUIET;
}

/** Remembers the bands of the last windows and says what of the newest is new. */
class BandNews {
  readonly #edges: Uint32Array;
  readonly #bands: number;
  readonly #floor: number;
  readonly #levels: Float64Array;
  /** ROWS rows of bands: in each band the highest level of it and its neighbours. */
  readonly #widened: Float64Array;
  #taken = 0;

  constructor(size: number, edges: Uint32Array, silence: number) {
    void size;
    this.#edges = edges;
    this.#bands = edges.length - 1;
    this.#floor = silence / this.#bands;
    this.#levels = new Float64Array(this.#bands);
    this.#widened = new Float64Array(ROWS * this.#bands);
  }

  take(power: Float64Array): number {
    const levels = this.#levels;
    const row = this.#taken % ROWS;
    for (let band = 0; band < this.#bands; band++) {
      let energy = this.#floor;
      const end = this.#edges[band + 1] ?? 0;
      for (let bin = this.#edges[band] ?? 0; bin < end; bin++) energy += power[bin] ?? 0;
      levels[band] = 10 * Math.log10(energy);
    }
    let fresh = 0;
    let weights = 0;
    for (let band = 0; band < this.#bands; band++) {
      const level = levels[band] ?? 0;
      this.#widened[row * this.#bands + band] = Math.max(level, levels[band - 1] ?? level, levels[band + 1] ?? level);
      const weight = 10 ** ((level * WEIGHT_POWER) / 10);
      weights += weight;
      fresh += weight * Math.max(0, level - this.#before(row, band));
    }
    return this.#taken++ < FARTHEST ? 0 : fresh / weights;
  }

  #before(row: number, band: number): number {
    let highest = -Infinity;
    for (let back = NEAREST; back <= FARTHEST; back++) {
      const from = (row + ROWS - back) % ROWS;
      highest = Math.max(highest, this.#widened[from * this.#bands + band] ?? 0);
    }
    return highest;
  }
}
