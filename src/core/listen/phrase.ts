/**
 * The last phrase in what was being held: from the last pause to the last note. All figures are our own choice, made for
 * somebody who tries things at an instrument and stops to say "that was it".
 */
import type { Frames, SampleRate } from '../units/index.js';
import { frames, nearestFrame } from '../units/index.js';

/** Levels are taken over this long: a period of the lowest notes and more. */
const STEP_SECONDS = 0.05;
/** A rest this long is the end of one phrase and the beginning of the next. */
const PAUSE_SECONDS = 1;
/** Room before the first note, for its breath, and after the last, for its ring. */
const LEAD_SECONDS = 0.25;
const RING_SECONDS = 0.75;
/** What is within 8 dB of the quietest tenth is a rest, unless that tenth is music itself, less than 20 dB under the loudest… */
const OVER_FLOOR = 10 ** (8 / 20);
const FLOOR_PART = 0.1;
const UNDER_LOUDEST = 10 ** (-20 / 20);
/** …and so is what is under −66 dBFS. */
const SILENT = 10 ** (-66 / 20);

/** A stretch of a recording, in frames from its first. */
export interface Phrase {
  readonly start: Frames;
  readonly frames: Frames;
}

/** Follows the level of a recording while it comes in, and keeps no samples. Any thread. */
export class PhraseFinder {
  readonly #rate: SampleRate;
  readonly #stepFrames: number;
  readonly #levels: number[] = [];
  #sum = 0;
  #filled = 0;
  #frames = 0;

  constructor(rate: SampleRate) {
    this.#rate = rate;
    this.#stepFrames = Math.round(STEP_SECONDS * rate);
  }

  add(samples: Float32Array): void {
    for (const sample of samples) {
      this.#sum += sample * sample;
      this.#filled++;
      if (this.#filled === this.#stepFrames) this.#endStep();
    }
    this.#frames += samples.length;
  }

  /** Null where nothing but quiet was heard. */
  last(): Phrase | null {
    const levels = this.#filled === 0 ? this.#levels : [...this.#levels, Math.sqrt(this.#sum / this.#filled)];
    const quiet = quietOf(levels);
    const lastNote = levels.findLastIndex((level) => level > quiet);
    if (lastNote < 0) return null;
    const pause = Math.round(PAUSE_SECONDS / STEP_SECONDS);
    let firstNote = lastNote;
    for (let step = lastNote; step >= 0 && firstNote - step <= pause; step--) {
      if ((levels[step] ?? 0) > quiet) firstNote = step;
    }
    const start = Math.max(0, firstNote * this.#stepFrames - this.#inFrames(LEAD_SECONDS));
    const end = Math.min(this.#frames, (lastNote + 1) * this.#stepFrames + this.#inFrames(RING_SECONDS));
    return { start: frames(start), frames: frames(end - start) };
  }

  #endStep(): void {
    this.#levels.push(Math.sqrt(this.#sum / this.#filled));
    this.#sum = 0;
    this.#filled = 0;
  }

  #inFrames(seconds: number): number {
    return nearestFrame(seconds * this.#rate);
  }
}

/** The level, linear, at and under which a step is a rest. */
function quietOf(levels: readonly number[]): number {
  const sorted = levels.toSorted((a, b) => a - b);
  const floor = sorted[Math.floor(sorted.length * FLOOR_PART)] ?? 0;
  const loudest = sorted.at(-1) ?? 0;
  return Math.max(SILENT, Math.min(floor * OVER_FLOOR, loudest * UNDER_LOUDEST));
}
