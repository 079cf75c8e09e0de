/**
 * Tapping along: readings while it goes on, and one tempo at its end. The end is a rest of REST_MS, or whatever the
 * player does next.
 */
import type { Metre } from '../core/meter/metre.js';
import type { Taps } from '../core/meter/taps.js';
import { NO_TAPS, addTap, readTaps } from '../core/meter/taps.js';
import type { NoteValue } from '../core/meter/metre.js';
import type { Bpm, Milliseconds } from '../core/units/index.js';
import { bpm } from '../core/units/index.js';
import type { TapView } from './snapshot.js';

const REST_MS = 2500;
/** Fewer taps than this are a beginning, not a tempo. */
const FEWEST = 3;

export class Tapping {
  #taps: Taps = NO_TAPS;
  #last = -Infinity;
  #metre: Metre | null = null;
  #mark: NoteValue | null = null;

  tap(time: Milliseconds, metre: Metre, mark: NoteValue): void {
    this.#taps = addTap(this.#taps, time);
    this.#last = time;
    this.#metre = metre;
    this.#mark = mark;
  }

  get view(): TapView | null {
    if (this.#last === -Infinity) return null;
    const reading = this.#reading();
    return {
      taps: this.#taps.times.length,
      bpm: reading?.bpm ?? null,
      spread: reading?.spread ?? null,
      other: reading?.other ?? null,
    };
  }

  hasRested(now: Milliseconds): boolean {
    return this.#last !== -Infinity && now - this.#last > REST_MS;
  }

  /** Ends the tapping. @returns the tempo it gave; null if there was none. */
  finish(): Bpm | null {
    const reading = this.#reading();
    this.#taps = NO_TAPS;
    this.#last = -Infinity;
    return reading?.bpm ?? null;
  }

  #reading(): { readonly bpm: Bpm; readonly spread: number; readonly other: Bpm | null } | null {
    if (this.#metre === null || this.#mark === null || this.#taps.times.length < FEWEST) return null;
    const reading = readTaps(this.#taps, this.#metre, this.#mark);
    return reading === null ? null : { ...reading, bpm: readable(reading.bpm, reading.spread) };
  }
}

/** A whole number where the taps cannot tell it from the reading, else tenths. */
function readable(reading: number, spread: number): Bpm {
  const whole = Math.round(reading);
  return bpm(Math.abs(whole - reading) <= spread ? whole : Math.round(reading * 10) / 10);
}
