/**
 * How long a recording goes on after a closing line: some seconds, and for as long as what was struck before the line
 * still rings. Ringing falls, and is louder than what is lost in a room; whoever plays on, and a room by itself, do not
 * fall. The page decides with more care what rings (core/seam/ring); here only the audio for that is kept. Audio thread;
 * `advance` allocates nothing.
 */
import { LONGEST_TAIL_SECONDS } from '../listen/longest-tail.js';
import { DECAY, FADED, SILENT } from '../seam/ring.js';
import type { Hold, Holds } from './holds.js';
import type { InputRing } from './ring.js';

/** Kept in any case: a player may ask for a ring where none was heard. */
export const TAIL_SECONDS = 4;
/** A level is taken over so long: a tenth of a second, so that strings out of tune do not end by beating. */
const LEVEL_SECONDS = 0.1;
/** Own choice: 12 dB over the lowest that it has been, something new was struck. */
const STRUCK = 4;

interface Tail {
  readonly hold: Hold;
  readonly channels: readonly number[];
  /** Capture frame of the closing line. */
  readonly line: number;
  /** Capture frame from which on the next level is taken. */
  next: number;
  /** The level before the line, of the loudest channel; the lowest and the newest since. */
  before: number;
  lowest: number;
  newest: number;
}

export class Tails {
  readonly #ring: InputRing;
  readonly #holds: Holds;
  readonly #least: number;
  readonly #longest: number;
  readonly #scratch: Float32Array;
  #tails: Tail[] = [];

  constructor(ring: InputRing, holds: Holds, rate: number) {
    this.#ring = ring;
    this.#holds = holds;
    this.#least = Math.round(TAIL_SECONDS * rate);
    this.#longest = Math.round(LONGEST_TAIL_SECONDS * rate);
    this.#scratch = new Float32Array(Math.round(LEVEL_SECONDS * rate));
  }

  /** A pass has its closing line, at a capture frame. Another line for the same hold takes its place. */
  follow(hold: Hold, channels: readonly number[], line: number): void {
    this.leave(hold);
    this.#holds.need(hold, line + this.#longest);
    const next = line - this.#scratch.length;
    this.#tails.push({ hold, channels, line, next, before: 0, lowest: Infinity, newest: 0 });
  }

  /** The pass was dropped, or ends elsewhere. */
  leave(hold: Hold): void {
    this.#tails = this.#tails.filter((tail) => tail.hold !== hold);
  }

  /** Once a block. @param captured the capture frame after the newest. */
  advance(captured: number): void {
    for (let i = this.#tails.length - 1; i >= 0; i--) {
      const tail = this.#tails[i];
      if (tail === undefined || tail.next + this.#scratch.length > captured) continue;
      this.#listen(tail);
      if (tail.next >= tail.line + this.#longest) {
        this.#tails.splice(i, 1);
      } else if (tail.next >= tail.line + this.#least && !rings(tail)) {
        this.#tails.splice(i, 1);
        this.#holds.need(tail.hold, Math.max(tail.line + this.#least, captured));
      }
    }
  }

  #listen(tail: Tail): void {
    const level = this.#levelAt(tail);
    if (tail.next < tail.line) tail.before = level;
    else tail.lowest = Math.min(tail.lowest, level);
    tail.newest = level;
    tail.next += this.#scratch.length;
  }

  /** Of the loudest channel. */
  #levelAt({ channels, next }: Tail): number {
    const scratch = this.#scratch;
    let loudest = 0;
    for (let c = 0; c < channels.length; c++) {
      this.#ring.read(channels[c] ?? 0, next, scratch.length, scratch, 0);
      let squares = 0;
      for (let i = 0; i < scratch.length; i++) squares += (scratch[i] as number) * (scratch[i] as number);
      loudest = Math.max(loudest, Math.sqrt(squares / scratch.length));
    }
    return loudest;
  }
}

function rings({ before, lowest, newest }: Tail): boolean {
  const isLost = newest < Math.max(before * FADED, SILENT);
  return !isLost && newest < before * DECAY && newest < lowest * STRUCK;
}
