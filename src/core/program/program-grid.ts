/**
 * The bar lines of a program. `placeOf` and `beatsOf` are for presses; every other method is allocation-free and may be
 * called in `process`. The stretches are few, so they are searched from the end.
 */
import type { Grid, Place } from '../meter/grid.js';
import type { Bars, Frames } from '../units/index.js';
import { bars, frames } from '../units/index.js';
import { STRETCH_FIELDS, Stretch } from './program.js';

export class ProgramGrid implements Grid {
  readonly #rows: Float64Array;

  /** @param rows stretches as in Program; at least one, the first at position 0 and bar 0. */
  constructor(rows: Float64Array) {
    if (rows.length < STRETCH_FIELDS || rows[Stretch.start] !== 0 || rows[Stretch.startBar] !== 0) {
      throw new RangeError(`Got stretches [${rows.join(', ')}] when expected at least one row that begins at 0.`);
    }
    this.#rows = rows;
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

  beatsOf(bar: Bars): readonly Frames[] {
    const line = this.lineAt(bar);
    const beats: Frames[] = [];
    for (let pulse = 0; pulse < this.pulses(bar); pulse++) {
      if (this.isBeat(bar, pulse)) beats.push(frames(this.pulseOf(bar, pulse) - line));
    }
    return [...beats, frames(this.barFrames(bar))];
  }

  /** Position of a bar line; negative lines count back at the first bar's length. */
  lineAt(bar: number): number {
    const row = this.#rowFor(bar, Stretch.startBar);
    return this.#get(row, Stretch.start) + (bar - this.#get(row, Stretch.startBar)) * this.#get(row, Stretch.barFrames);
  }

  barAt(position: number): number {
    const row = this.#rowFor(position, Stretch.start);
    const into = Math.floor((position - this.#get(row, Stretch.start)) / this.#get(row, Stretch.barFrames));
    return this.#get(row, Stretch.startBar) + into;
  }

  barFrames(bar: number): number {
    return this.#get(this.#rowFor(bar, Stretch.startBar), Stretch.barFrames);
  }

  pulses(bar: number): number {
    return this.#get(this.#rowFor(bar, Stretch.startBar), Stretch.pulses);
  }

  /** Whether pulse `pulse` of a bar opens a felt beat. */
  isBeat(bar: number, pulse: number): boolean {
    return ((this.#get(this.#rowFor(bar, Stretch.startBar), Stretch.beats) >>> pulse) & 1) === 1;
  }

  /** Position of a pulse: round(j · barFrames / pulses) after its bar line. */
  pulseOf(bar: number, pulse: number): number {
    const row = this.#rowFor(bar, Stretch.startBar);
    const into = (pulse * this.#get(row, Stretch.barFrames)) / this.#get(row, Stretch.pulses);
    return this.lineAt(bar) + Math.floor(into + 0.5);
  }

  #rowFor(value: number, column: number): number {
    let row = this.#rows.length - STRETCH_FIELDS;
    while (row > 0 && value < (this.#rows[row + column] ?? 0)) row -= STRETCH_FIELDS;
    return row;
  }

  #get(row: number, column: number): number {
    return this.#rows[row + column] ?? 0;
  }
}
