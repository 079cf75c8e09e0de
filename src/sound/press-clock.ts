/**
 * Which engine frame leaves the loudspeaker at a moment of the performance clock. The browser's pair (frame at the
 * output, time) jitters by some frames, so the offset between the two clocks is the median of the last readings; where
 * it has stepped, because the output had a gap, the old readings are dropped.
 */

/** Readings that the offset is the median of. */
const WINDOW = 31;
/** Two readings in a row further off than this are a step, not jitter: 8 ms at 48 kHz. */
const STEP_FRAMES = 400;

/** A reading of both clocks. */
export interface OutputReading {
  /** Context seconds of the frame that is leaving the output. */
  readonly contextSeconds: number;
  /** Performance clock, ms. */
  readonly performanceMs: number;
}

export class PressClock {
  readonly #rate: number;
  readonly #offsets: number[] = [];
  #stray: number | null = null;
  #contextAhead: number | null = null;
  #lookAhead = 0;

  constructor(rate: number) {
    this.#rate = rate;
  }

  /** Frames by which the output lies behind the mix. */
  setLookAhead(frames: number): void {
    this.#lookAhead = frames;
  }

  /** From the audio thread: context frame minus engine frame. */
  setContextAhead(frames: number): void {
    this.#contextAhead = frames;
  }

  /** Takes a reading: as often as the screen is drawn. */
  read({ contextSeconds, performanceMs }: OutputReading): void {
    const offset = contextSeconds * this.#rate - (performanceMs * this.#rate) / 1000;
    const middle = this.#middle();
    if (middle !== null && Math.abs(offset - middle) > STEP_FRAMES) {
      const again = this.#stray !== null && Math.abs(offset - this.#stray) <= STEP_FRAMES;
      this.#stray = offset;
      if (!again) return;
      this.#offsets.length = 0;
    }
    this.#stray = null;
    this.#offsets.push(offset);
    if (this.#offsets.length > WINDOW) this.#offsets.shift();
  }

  /** The engine frame (of the mix) heard at a moment; 0 until both clocks are known. */
  heardAt(performanceMs: number): number {
    const middle = this.#middle();
    if (middle === null || this.#contextAhead === null) return 0;
    const context = middle + (performanceMs * this.#rate) / 1000;
    return Math.max(0, Math.floor(context - this.#contextAhead - this.#lookAhead + 0.5));
  }

  #middle(): number | null {
    if (this.#offsets.length === 0) return null;
    const sorted = [...this.#offsets].sort((a, b) => a - b);
    return sorted[Math.floor(sorted.length / 2)] ?? null;
  }
}
