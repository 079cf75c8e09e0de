/**
 * Knocks of the click, as a list with room for a fixed number: where each begins and how heavy it is. Audio thread;
 * allocates in the constructor only.
 */
import type { ProgramGrid, Weight } from '../program/program-grid.js';

/** Own choice: a beat is 4.4 dB softer than the first of its bar, one that opens a group half of that. */
const LEVELS: Readonly<Record<Weight, number>> = { none: 0, beat: 0.6, group: 0.775, bar: 1 };

/**
 * So many may sound at a time; more are left out. A knock lasts 25 ms, and the shortest beat of the fastest tempo (a 32nd
 * at 400 whole notes a minute) 4.7 ms.
 */
const MOST = 32;

export class Knocks {
  /** Engine frames. */
  readonly at = new Float64Array(MOST);
  readonly level = new Float64Array(MOST);
  /** 1 where it belongs to a count-in. */
  readonly counted = new Uint8Array(MOST);
  count = 0;

  clear(): void {
    this.count = 0;
  }

  /** Adds the felt beats at engine frames [from, before); song position 0 is engine frame `origin`. */
  collect(grid: ProgramGrid, origin: number, from: number, before: number): void {
    if (!(from < before)) return;
    const lastBar = Math.min(grid.barAt(before - 1 - origin), grid.endBar - 1);
    for (let bar = grid.barAt(from - origin); bar <= lastBar; bar++) {
      const pulses = grid.pulses(bar);
      for (let pulse = 0; pulse < pulses; pulse++) {
        const position = grid.pulseOf(bar, pulse);
        const isInside = origin + position >= from && origin + position < before;
        if (isInside && grid.isBeat(bar, pulse)) this.#add(origin + position, grid.weightOf(bar, pulse), position < 0);
      }
    }
  }

  /** Lets go of those that began before an engine frame. */
  keepFrom(frame: number): void {
    let kept = 0;
    for (let i = 0; i < this.count; i++) {
      if ((this.at[i] ?? 0) < frame) continue;
      this.at.copyWithin(kept, i, i + 1);
      this.level.copyWithin(kept, i, i + 1);
      this.counted.copyWithin(kept, i, i + 1);
      kept++;
    }
    this.count = kept;
  }

  #add(at: number, weight: Weight, counted: boolean): void {
    if (this.count === MOST) return;
    this.at[this.count] = at;
    this.level[this.count] = LEVELS[weight];
    this.counted[this.count] = counted ? 1 : 0;
    this.count++;
  }
}
