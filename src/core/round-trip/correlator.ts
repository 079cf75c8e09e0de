/** Linear correlation of excerpts with one sequence, by the fast Fourier transform. Any thread, not in `process`. */
import FFT from 'fft.js';

/** Keeps the sequence's spectrum: make one, and use it for all excerpts. */
export class Correlator {
  /** Lags 0 … lags − 1 are looked at. */
  readonly lags: number;
  readonly #count: number;
  readonly #transform: FFT;
  readonly #sequence: Float64Array;
  readonly #given: Float64Array;
  readonly #changed: Float64Array;

  constructor(sequence: ArrayLike<number>, lags: number) {
    this.lags = lags;
    this.#count = sequence.length;
    const size = 2 ** Math.max(1, Math.ceil(Math.log2(lags + sequence.length - 1)));
    this.#transform = new FFT(size);
    this.#sequence = new Float64Array(2 * size);
    this.#given = new Float64Array(2 * size);
    this.#changed = new Float64Array(2 * size);
    this.follow(sequence);
  }

  /** From now on another sequence, as long as the first. */
  follow(sequence: ArrayLike<number>): void {
    this.#given.fill(0);
    for (let i = 0; i < this.#count; i++) this.#given[2 * i] = sequence[i] ?? 0;
    this.#transform.transform(this.#sequence, this.#given);
  }

  /** As `correlatePair`, of one excerpt. */
  correlate(excerpt: Float32Array): Float64Array {
    return this.correlatePair(excerpt, new Float32Array(0))[0];
  }

  /**
   * For each lag, Σ excerpt[lag + n]·sequence[n] / length: of a sequence of ±1 samples, the amplitude at which it came
   * back. Excerpts count as silent after their end; samples that are not finite count as 0. Two excerpts cost as much as
   * one: one travels as the real, the other as the imaginary part.
   */
  correlatePair(first: Float32Array, second: Float32Array): readonly [Float64Array, Float64Array] {
    const [given, changed, sequence] = [this.#given, this.#changed, this.#sequence];
    given.fill(0);
    const frames = this.lags + this.#count - 1;
    for (let i = 0; i < frames; i++) {
      given[2 * i] = finite(first[i]);
      given[2 * i + 1] = finite(second[i]);
    }
    this.#transform.transform(changed, given);
    for (let k = 0; k < given.length; k += 2) {
      const [a, b] = [changed[k] ?? 0, changed[k + 1] ?? 0];
      const [c, d] = [sequence[k] ?? 0, sequence[k + 1] ?? 0];
      given[k] = a * c + b * d;
      given[k + 1] = b * c - a * d;
    }
    this.#transform.inverseTransform(changed, given);
    return [this.#part(0), this.#part(1)];
  }

  #part(which: 0 | 1): Float64Array {
    return Float64Array.from({ length: this.lags }, (_, lag) => (this.#changed[2 * lag + which] ?? 0) / this.#count);
  }
}

const finite = (sample: number | undefined): number => (Number.isFinite(sample) ? (sample ?? 0) : 0);
