/**
 * The spectrum of real signals, two at a time: one is the real, the other the imaginary part of a transform, which is then
 * taken apart by symmetry. Any thread; allocates in the constructor only.
 */
import FFT from 'fft.js';

export class PowerSpectra {
  readonly #size: number;
  readonly #transform: FFT;
  readonly #samples: Float64Array;
  readonly #spectrum: Float64Array;

  /** `size`: a power of two, 2 or more. */
  constructor(size: number) {
    this.#size = size;
    this.#transform = new FFT(size);
    this.#samples = new Float64Array(2 * size);
    this.#spectrum = new Float64Array(2 * size);
  }

  /** Both signals have `size` samples; writes |X[k]|² of each for k from 0 to size/2. */
  read(first: Float64Array, second: Float64Array, firstPower: Float64Array, secondPower: Float64Array): void {
    const samples = this.#samples;
    const spectrum = this.#spectrum;
    for (let i = 0; i < this.#size; i++) {
      samples[2 * i] = first[i] ?? 0;
      samples[2 * i + 1] = second[i] ?? 0;
    }
    this.#transform.transform(spectrum, samples);
    for (let k = 0; k <= this.#size / 2; k++) {
      const mirror = k === 0 ? 0 : this.#size - k;
      const a = spectrum[2 * k] ?? 0;
      const b = spectrum[2 * k + 1] ?? 0;
      const c = spectrum[2 * mirror] ?? 0;
      const d = spectrum[2 * mirror + 1] ?? 0;
      firstPower[k] = ((a + c) ** 2 + (b - d) ** 2) / 4;
      secondPower[k] = ((b + d) ** 2 + (c - a) ** 2) / 4;
    }
  }
}
