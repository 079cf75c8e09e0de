/** Compares the engine's frames with the context's. Audio thread; allocates nothing. */

/** Blocks over which the greatest offset is taken: the context's clock freezes for about four and then catches up. */
const WINDOW_BLOCKS = 64;

export class ClockWatch {
  readonly #ahead = new Float64Array(WINDOW_BLOCKS).fill(-Infinity);
  #blocks = 0;

  take(contextFrame: number, engineFrame: number): void {
    this.#ahead[this.#blocks % WINDOW_BLOCKS] = contextFrame - engineFrame;
    this.#blocks++;
  }

  /** Context frame minus engine frame: the greatest of the last blocks. */
  get contextAhead(): number {
    let greatest = -Infinity;
    for (let i = 0; i < WINDOW_BLOCKS; i++) greatest = Math.max(greatest, this.#ahead[i] ?? -Infinity);
    return greatest;
  }
}
