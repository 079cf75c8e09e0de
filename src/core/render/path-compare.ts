/**
 * Compares the two ways by which the input reaches the audio thread: the engine's own, into which a browser may put
 * silence or from which it may drop frames, and the ring, into which every frame was counted. Both bring the same
 * samples to the bit, so every frame is compared, and where they part, the place where they join again is looked for:
 * the distance moves by exactly what was put in less what was dropped. Audio thread; allocates in the constructor and
 * for what it finds.
 */
import type { Frames } from '../units/index.js';
import { frames } from '../units/index.js';
import type { InputRing } from './ring.js';

/** Frames of the own input that are held: 2.7 s at 48 kHz. */
const HISTORY = 131_072;
/** How far from the last known distance the ways are looked for: 0.34 s. */
const RANGE = 16_384;
/** Frames that must be the same, in a row; so many are never alike by chance where they move. */
const PATTERN = 64;
/** So many of them must differ from their neighbour. */
const MOVING = 32;
/** Frames compared, and places tried, in one call at most. */
const COMPARED = 4096;
const TRIED = 4096;

export interface Shift {
  /** Frames of the own input: the first that differs, and one from which on both are alike again. */
  readonly from: Frames;
  readonly to: Frames;
  /** So many frames later than before does the own input come now: put in less dropped. */
  readonly frames: Frames;
}

export class PathCompare {
  readonly #ring: InputRing;
  /** All channels added up. */
  readonly #own = new Float64Array(HISTORY);
  #ownEnd = 0;
  #ownStart = 0;
  /** Own frame n is ring frame n − shift. */
  #shift: number | null = null;
  /** The next own frame to be compared. */
  #next = 0;
  /** Own frame at which the ways parted; NaN while they agree. */
  #parted = NaN;
  /** Own frame of the pattern that is looked for; NaN while there is none. */
  #pattern = NaN;
  #patternFrom = 0;
  /** The next ring frame to be tried. */
  #trying = 0;
  #hit = NaN;
  #hits = 0;

  constructor(ring: InputRing) {
    this.#ring = ring;
  }

  /** Own frame n is ring frame n − shift; null until that was found. */
  get shift(): number | null {
    return this.#shift;
  }

  /** Every frame in the ring has got a number greater by `by`. */
  renumbered(by: number): void {
    if (this.#shift !== null) this.#shift -= by;
    this.#trying += by;
    this.#hit += by;
  }

  /** Takes `count` frames of the own input, from engine frame `at` on: without a gap. Missing channels are silence. */
  push(input: readonly Float32Array[], at: number, count: number): void {
    if (this.#ownEnd === this.#ownStart) {
      this.#ownStart = at;
      this.#patternFrom = at;
    }
    for (let i = 0; i < count; i++) {
      let sum = 0;
      for (let c = 0; c < this.#ring.channels; c++) sum += input[c]?.[i] ?? 0;
      this.#own[(at + i) & (HISTORY - 1)] = sum;
    }
    this.#ownEnd = at + count;
    this.#ownStart = Math.max(this.#ownStart, this.#ownEnd - HISTORY);
  }

  /** Call once a block. @returns a shift that has been found; null most of the time. */
  advance(): Shift | null {
    if (this.#shift !== null && Number.isNaN(this.#parted)) this.#compare(this.#shift);
    if (this.#shift !== null && Number.isNaN(this.#parted)) return null;
    return this.#search(this.#shift ?? 0);
  }

  #compare(shift: number): void {
    let frame = Math.max(this.#next, this.#ownStart, this.#ring.oldest + shift);
    const end = Math.min(this.#ownEnd, this.#ring.captured + shift, frame + COMPARED);
    while (frame < end && this.#ownAt(frame) === this.#ring.sumAt(frame - shift)) frame++;
    if (frame < end) {
      this.#parted = frame;
      this.#patternFrom = frame;
    }
    this.#next = frame;
  }

  #search(guess: number): Shift | null {
    if (Number.isNaN(this.#pattern) && !this.#findPattern(guess)) return null;
    const pattern = this.#pattern;
    const last = pattern - guess + RANGE;
    // What it is looked for in must have come in.
    if (this.#ring.captured < last + PATTERN) return null;
    if (pattern < this.#ownStart) return this.#giveUp();
    const end = Math.min(last + 1, this.#trying + TRIED);
    const first = this.#ownAt(pattern);
    for (let frame = this.#trying; frame < end; frame++) {
      if (this.#ring.sumAt(frame) !== first || !this.#isAt(pattern, frame)) continue;
      this.#hit = frame;
      this.#hits++;
    }
    this.#trying = end;
    if (end <= last && this.#hits < 2) return null;
    return this.#hits === 1 ? this.#found(pattern - this.#hit) : this.#giveUp();
  }

  #found(shift: number): Shift | null {
    const before = this.#shift;
    const parted = this.#parted;
    const joined = this.#pattern;
    this.#shift = shift;
    this.#next = joined;
    this.#parted = NaN;
    this.#pattern = NaN;
    if (before === null || before === shift) return null;
    return { from: frames(parted), to: frames(joined), frames: frames(shift - before) };
  }

  /** Not there, or more than once: another pattern is looked for, from what comes in now. */
  #giveUp(): null {
    this.#patternFrom = Math.max(this.#pattern + PATTERN, this.#ownEnd - PATTERN);
    this.#pattern = NaN;
    return null;
  }

  /** @returns whether there is a run of frames that move enough to be told from others. */
  #findPattern(guess: number): boolean {
    let from = Math.max(this.#patternFrom, this.#ownStart);
    const end = Math.min(this.#ownEnd - PATTERN, from + 8 * PATTERN);
    while (from <= end && !this.#moves(from)) from += PATTERN / 4;
    this.#patternFrom = from;
    if (from > end) return false;
    this.#pattern = from;
    this.#trying = Math.max(this.#ring.oldest, from - guess - RANGE);
    this.#hit = NaN;
    this.#hits = 0;
    return true;
  }

  #moves(from: number): boolean {
    let moving = 0;
    for (let i = 1; i < PATTERN; i++) if (this.#ownAt(from + i) !== this.#ownAt(from + i - 1)) moving++;
    return moving >= MOVING;
  }

  #isAt(pattern: number, frame: number): boolean {
    for (let i = 0; i < PATTERN; i++) if (this.#ownAt(pattern + i) !== this.#ring.sumAt(frame + i)) return false;
    return true;
  }

  #ownAt(frame: number): number {
    return this.#own[frame & (HISTORY - 1)] ?? 0;
  }
}
