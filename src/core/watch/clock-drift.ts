/**
 * How fast the output's clock and the performance clock drift apart: crystals differ by some parts in a hundred
 * thousand, and 76 ppm, seen once, are 7 frames over the two seconds between the middles of two windows.
 */
import type { TimedValues } from './timed-values.js';

const POINT_MS = 1000;
/** A point is taken so late that a gap in it would be known. */
const LATE_MS = 1000;
/** Between a gap and the first point after it. */
const CALM_MS = 600;
const MOST_POINTS = 40;
const FEWEST_POINTS = 12;
const FEWEST_READINGS = 5;
/** No crystal is worse than 200 ppm: a part of the time between two readings. */
const WORST = 200e-6;

interface Point {
  readonly at: number;
  readonly value: number;
}

export class ClockDrift {
  readonly #framesPerMs: number;
  readonly #points: Point[] = [];
  #next = -Infinity;
  /** Frames a millisecond by which the offset of the output's clock grows. */
  perMs = 0;

  constructor(framesPerMs: number) {
    this.#framesPerMs = framesPerMs;
  }

  /** A gap ends one calm stretch; what came before it is another. */
  interrupt(at: number): void {
    this.#points.length = 0;
    this.#next = Math.max(this.#next, at + CALM_MS + POINT_MS + LATE_MS);
  }

  /** After each reading. */
  follow(offsets: TimedValues): void {
    const now = offsets.latest;
    if (now < this.#next) return;
    this.#next = now + POINT_MS;
    const { count, value, at } = offsets.median(now - LATE_MS - POINT_MS, now - LATE_MS);
    if (count < FEWEST_READINGS) return;
    this.#points.push({ at, value });
    if (this.#points.length > MOST_POINTS) this.#points.shift();
    if (this.#points.length >= FEWEST_POINTS) this.#fit();
  }

  /** A line by least squares. */
  #fit(): void {
    const points = this.#points;
    const middle = points.reduce((sum, { at }) => sum + at, 0) / points.length;
    let product = 0;
    let square = 0;
    for (const { at, value } of points) {
      product += (at - middle) * value;
      square += (at - middle) ** 2;
    }
    const slope = product / square;
    if (Math.abs(slope) <= WORST * this.#framesPerMs) this.perMs = slope;
  }
}
