/**
 * Whether the system's clock and the performance clock have parted: the machine slept, while the one may stand still and
 * the other go on, or somebody has set the clock. Moments of the audio thread are told by the one, those of the page by the
 * other.
 */

/** They part by so much at once, ms; a clock that is pulled gently moves less from one reading to the next. */
const APART_MS = 500;

export class ClockJumps {
  #apart: number | null = null;

  /** Both clocks now, ms. @returns whether they have parted since the last time. */
  read(performanceMs: number, systemMs: number): boolean {
    const before = this.#apart;
    this.#apart = systemMs - performanceMs;
    return before !== null && Math.abs(this.#apart - before) > APART_MS;
  }
}
