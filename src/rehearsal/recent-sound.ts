/** The last seconds of what came in, as one channel, by capture frame: at hand before storage could give it back. */

export class RecentSound {
  readonly #data: Float32Array<ArrayBuffer>;
  #from = 0;
  #end = 0;

  /** @param length frames that are held. */
  constructor(length: number) {
    this.#data = new Float32Array(length);
  }

  /** The capture frame after the newest. */
  get end(): number {
    return this.#end;
  }

  /**
   * Adds the sum of channels. What does not go on where the last ended begins anew.
   * @param at capture frame of the first.
   * @param planar channel c at c × count.
   */
  add(at: number, planar: Float32Array, count: number, channels: readonly number[]): void {
    const length = this.#data.length;
    if (at !== this.#end) this.#from = at;
    for (let i = 0; i < count; i++) {
      let sum = 0;
      for (const channel of channels) sum += planar[channel * count + i] ?? 0;
      this.#data[(at + i) % length] = sum;
    }
    this.#end = at + count;
    this.#from = Math.max(this.#from, this.#end - length);
  }

  /** What is held of frames [from, to), and the frame of the first. */
  read(from: number, to: number): { readonly at: number; readonly samples: Float32Array } {
    const at = Math.max(this.#from, Math.round(from));
    const end = Math.min(this.#end, Math.round(to));
    const samples = Float32Array.from({ length: Math.max(0, end - at) }, (_, i) => {
      return this.#data[(at + i) % this.#data.length] ?? 0;
    });
    return { at, samples };
  }
}
