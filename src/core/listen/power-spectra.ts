/**
 * The spectrum of real signals, two at a time: one is the real, the other the imaginary part of a radix-2 transform
 * (Cooley and Tukey 1965), which is then taken apart by symmetry. Any thread; allocates in the constructor only.
 */
export class PowerSpectra {
  readonly #size: number;
  readonly #real: Float64Array;
  readonly #imaginary: Float64Array;
  readonly #cosines: Float64Array;
  readonly #sines: Float64Array;
  readonly #order: Uint32Array;

  /** `size`: a power of two, 2 or more. */
  constructor(size: number) {
    this.#size = size;
    this.#real = new Float64Array(size);
    this.#imaginary = new Float64Array(size);
    this.#cosines = Float64Array.from({ length: size / 2 }, (_, k) => Math.cos((2 * Math.PI * k) / size));
    this.#sines = Float64Array.from({ length: size / 2 }, (_, k) => Math.sin((2 * Math.PI * k) / size));
    this.#order = new Uint32Array(size);
    for (let i = 1; i < size; i++) this.#order[i] = ((this.#order[i >> 1] ?? 0) >> 1) | (i & 1 ? size / 2 : 0);
  }

  /** Both signals have `size` samples; writes |X[k]|² of each for k from 0 to size/2. */
  read(first: Float64Array, second: Float64Array, firstPower: Float64Array, secondPower: Float64Array): void {
    const re = this.#real;
    const im = this.#imaginary;
    for (let i = 0; i < this.#size; i++) {
      const from = this.#order[i] ?? 0;
      re[i] = first[from] ?? 0;
      im[i] = second[from] ?? 0;
    }
    this.#transform();
    for (let k = 0; k <= this.#size / 2; k++) {
      const mirror = k === 0 ? 0 : this.#size - k;
      const a = re[k] ?? 0;
      const b = im[k] ?? 0;
      const c = re[mirror] ?? 0;
      const d = im[mirror] ?? 0;
      firstPower[k] = ((a + c) ** 2 + (b - d) ** 2) / 4;
      secondPower[k] = ((b + d) ** 2 + (c - a) ** 2) / 4;
    }
  }

  #transform(): void {
    const re = this.#real;
    const im = this.#imaginary;
    for (let half = 1; half < this.#size; half *= 2) {
      const stride = this.#size / (2 * half);
      for (let k = 0; k < half; k++) {
        const cosine = this.#cosines[k * stride] ?? 0;
        const sine = this.#sines[k * stride] ?? 0;
        for (let i = k; i < this.#size; i += 2 * half) {
          const j = i + half;
          const x = (re[j] ?? 0) * cosine + (im[j] ?? 0) * sine;
          const y = (im[j] ?? 0) * cosine - (re[j] ?? 0) * sine;
          re[j] = (re[i] ?? 0) - x;
          im[j] = (im[i] ?? 0) - y;
          re[i] = (re[i] ?? 0) + x;
          im[i] = (im[i] ?? 0) + y;
        }
      }
    }
  }
}
