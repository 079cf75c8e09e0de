/**
 * The bar lines of a program, as the audio thread reads them. `lineOf`, `placeOf` and `beatsOf` are for presses; what
 * comes after them is allocation-free and may be called in `process`. Bars before the first row count back at its length.
 *
 * Behind a standstill (STANDSTILL) every line has a position, and none is reached. Nothing here throws but the
 * constructor.
 */
import type { Grid, Place } from '../meter/grid.js';
import type { Bars, Frames } from '../units/index.js';
import { bars, frames } from '../units/index.js';
import { STANDSTILL, STRETCH_FIELDS, STRETCH_HEAD_FIELDS, Stretch, StretchHead } from './program.js';
import type { EqualBars } from './stretch-arrays.js';

/** What a pulse is in its bar. */
export type Weight = 'none' | 'beat' | 'group' | 'bar';

/** Where time stands still until a press. */
export interface Standstill {
  readonly bar: number;
  /** Position from which it does. */
  readonly from: number;
  /** Position of the beat that is held; in free time the same. */
  readonly heldFrom: number;
  /** The pulse that comes next. */
  readonly pulse: number;
}

export class ProgramGrid implements Grid {
  /** As in Program. Never written to. */
  readonly stretches: Float64Array<ArrayBuffer>;
  /** From this bar on nothing clicks. */
  readonly endBar: number;
  readonly loopBar: number;
  /** 0: nothing comes again. */
  readonly loopBars: number;
  /** The first one; null where there is none. */
  readonly standstill: Standstill | null;
  readonly #rows: number;
  readonly #loopFrames: number;
  readonly #loopStart: number;

  /**
   * @param stretches as in Program.
   * @throws {RangeError} unless it holds its rows, and they begin one after the other.
   */
  constructor(stretches: Float64Array<ArrayBuffer>) {
    const rows = stretches[StretchHead.rows] ?? 0;
    this.stretches = stretches;
    this.#rows = rows;
    this.endBar = stretches[StretchHead.endBar] ?? 0;
    this.loopBar = stretches[StretchHead.loopBar] ?? 0;
    this.loopBars = stretches[StretchHead.loopBars] ?? 0;
    this.#loopFrames = stretches[StretchHead.loopFrames] ?? 0;
    if (!this.#isWhole()) {
      throw new RangeError(
        `Got ${rows} rows in ${stretches.length} numbers when expected two or more that hold together.`,
      );
    }
    this.#loopStart = this.#lineInRow(this.#rowOf(this.loopBar, Stretch.startBar), this.loopBar);
    this.standstill = this.#firstStandstill();
  }

  lineOf(bar: Bars): Frames {
    return frames(this.lineAt(bar));
  }

  placeOf(frame: Frames): Place {
    const bar = this.barAt(frame);
    const frameInBar = frames(frame - this.lineAt(bar));
    let pulse = this.pulses(bar) - 1;
    while (pulse > 0 && this.pulseOf(bar, pulse) > frame) pulse--;
    return { bar: bars(bar), pulse, frameInBar };
  }

  /** What lies behind a standstill is left out; in free time the line and the length. */
  beatsOf(bar: Bars): readonly Frames[] {
    const line = this.lineAt(bar);
    const beats: Frames[] = [];
    for (let pulse = 0; pulse <= this.pulses(bar); pulse++) {
      const offset = this.pulseOf(bar, pulse) - line;
      const counts = pulse === 0 || pulse === this.pulses(bar) || this.isBeat(bar, pulse);
      if (counts && offset < STANDSTILL) beats.push(frames(offset));
    }
    return beats;
  }

  /** The bars from `bar` on that are equal to it, up to the end of their row or of the round. */
  barsFrom(bar: number): EqualBars {
    const folded = bar - this.#roundsAtBar(bar) * this.loopBars;
    const row = this.#rowOf(folded, Stretch.startBar);
    const offsetsAt = this.#get(row, Stretch.offsetsAt);
    const offsets = [...this.stretches.subarray(offsetsAt, offsetsAt + this.#get(row, Stretch.pulses) + 1)];
    const count = this.#endOfRow(row) - folded;
    return { bars: count, beats: this.#get(row, Stretch.beats), groups: this.#get(row, Stretch.groups), offsets };
  }

  /** Position of a bar line. */
  lineAt(bar: number): number {
    const rounds = this.#roundsAtBar(bar);
    const folded = bar - rounds * this.loopBars;
    return this.#lineInRow(this.#rowOf(folded, Stretch.startBar), folded) + rounds * this.#loopFrames;
  }

  barAt(position: number): number {
    const rounds =
      this.loopBars === 0 || position < this.#loopStart
        ? 0
        : Math.floor((position - this.#loopStart) / this.#loopFrames);
    const folded = position - rounds * this.#loopFrames;
    const row = this.#rowOf(folded, Stretch.start);
    const into = Math.floor((folded - this.#get(row, Stretch.start)) / this.#get(row, Stretch.barFrames));
    return this.#get(row, Stretch.startBar) + into + rounds * this.loopBars;
  }

  barFrames(bar: number): number {
    return this.#get(this.#rowAt(bar), Stretch.barFrames);
  }

  pulses(bar: number): number {
    return this.#get(this.#rowAt(bar), Stretch.pulses);
  }

  /** Position of a pulse; after the last of a bar, of the next line. */
  pulseOf(bar: number, pulse: number): number {
    const offsetsAt = this.#get(this.#rowAt(bar), Stretch.offsetsAt);
    return this.lineAt(bar) + (this.stretches[offsetsAt + pulse] ?? 0);
  }

  /** Whether pulse `pulse` of a bar opens a felt beat. */
  isBeat(bar: number, pulse: number): boolean {
    return hasBit(this.#get(this.#rowAt(bar), Stretch.beats), pulse);
  }

  /** `none` where no felt beat opens, and in free time. */
  weightOf(bar: number, pulse: number): Weight {
    const row = this.#rowAt(bar);
    if (!hasBit(this.#get(row, Stretch.beats), pulse)) return 'none';
    if (pulse === 0) return 'bar';
    return hasBit(this.#get(row, Stretch.groups), pulse) ? 'group' : 'beat';
  }

  /** Whether time stands still at a position until a press. */
  standsStillAt(position: number): boolean {
    const { standstill } = this;
    return standstill !== null && position >= standstill.from && position < standstill.from + STANDSTILL / 2;
  }

  #roundsAtBar(bar: number): number {
    return this.loopBars === 0 || bar < this.loopBar ? 0 : Math.floor((bar - this.loopBar) / this.loopBars);
  }

  #rowAt(bar: number): number {
    return this.#rowOf(bar - this.#roundsAtBar(bar) * this.loopBars, Stretch.startBar);
  }

  #lineInRow(row: number, bar: number): number {
    return this.#get(row, Stretch.start) + (bar - this.#get(row, Stretch.startBar)) * this.#get(row, Stretch.barFrames);
  }

  /** The bar after the last of a row; Infinity for the last row without a loop. */
  #endOfRow(row: number): number {
    if (row + 1 < this.#rows) return this.#get(row + 1, Stretch.startBar);
    return this.loopBars === 0 ? Infinity : this.loopBar + this.loopBars;
  }

  /** The last row whose `column` is not above a value; row 0 where all others are. Found by halving. */
  #rowOf(value: number, column: number): number {
    let low = 0;
    let high = this.#rows - 1;
    while (low < high) {
      const middle = (low + high + 1) >>> 1;
      if (this.#get(middle, column) <= value) low = middle;
      else high = middle - 1;
    }
    return low;
  }

  #firstStandstill(): Standstill | null {
    for (let row = 1; row < this.#rows; row++) {
      if (this.#get(row, Stretch.barFrames) < STANDSTILL) continue;
      const bar = this.#get(row, Stretch.startBar);
      const line = this.#get(row, Stretch.start);
      let pulse = 1;
      while (this.pulseOf(bar, pulse) - line < STANDSTILL) pulse++;
      let held = pulse - 1;
      while (held > 0 && !this.isBeat(bar, held)) held--;
      return { bar, from: this.pulseOf(bar, pulse) - STANDSTILL, heldFrom: this.pulseOf(bar, held), pulse };
    }
    return null;
  }

  #isWhole(): boolean {
    if (!(this.#rows >= 2) || this.stretches.length < STRETCH_HEAD_FIELDS + this.#rows * STRETCH_FIELDS) return false;
    for (let row = 1; row < this.#rows; row++) {
      const offsets = this.#get(row, Stretch.offsetsAt) + this.#get(row, Stretch.pulses);
      if (this.stretches[offsets] !== this.#get(row, Stretch.barFrames)) return false;
      if (row > 1 && this.#get(row, Stretch.start) <= this.#get(row - 1, Stretch.start)) return false;
    }
    return this.loopBars === 0 || this.#loopFrames > 0;
  }

  #get(row: number, column: number): number {
    return this.stretches[STRETCH_HEAD_FIELDS + row * STRETCH_FIELDS + column] ?? 0;
  }
}

const hasBit = (mask: number, bit: number): boolean => ((mask >>> bit) & 1) === 1;
