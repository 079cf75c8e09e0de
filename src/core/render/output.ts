/**
 * From voices and click to what leaves the engine: the house (music) and the foldback (music, click, count-in), each
 * with its limiter, both late by the same look-ahead. Audio thread; allocates in the constructor only.
 */
import { Limiter } from '../limiter/limiter.js';
import type { ProgramGrid } from '../program/program-grid.js';
import type { Frames, SampleRate } from '../units/index.js';
import { frames } from '../units/index.js';
import type { ClickTrack } from './click.js';
import type { Mixer } from './mixer.js';
import { MIX_FRAMES } from './mixer.js';
import { Ramp } from './ramp.js';

/** Left and right, of at least the block's length. */
export type StereoBlock = readonly [Float32Array, Float32Array];

const STOP_FADE_SECONDS = 0.01;

export class Output {
  readonly #mixer: Mixer;
  readonly #click: ClickTrack;
  readonly #houseLimiter: Limiter;
  readonly #foldbackLimiter: Limiter;
  readonly #stopGain: Ramp;
  readonly #stopFrames: number;
  readonly #left = new Float32Array(MIX_FRAMES);
  readonly #right = new Float32Array(MIX_FRAMES);
  readonly #clicks = new Float32Array(MIX_FRAMES);
  #rendered = 0;
  #grid: ProgramGrid | null = null;
  #origin = 0;
  #startsAt = Infinity;
  /** A start that has been ordered and not yet been reached. */
  #nextStartsAt = Infinity;
  #nextOrigin = 0;
  #nextHow: 'from-the-top' | 'under-way' = 'from-the-top';
  #nextGrid: ProgramGrid | null = null;
  #changesAt = Infinity;
  #late = 0;

  constructor(rate: SampleRate, mixer: Mixer, click: ClickTrack) {
    this.#mixer = mixer;
    this.#click = click;
    this.#houseLimiter = new Limiter(rate);
    this.#foldbackLimiter = new Limiter(rate);
    this.#stopFrames = Math.round(STOP_FADE_SECONDS * rate);
    this.#stopGain = new Ramp(0, this.#stopFrames);
  }

  get rendered(): Frames {
    return frames(this.#rendered);
  }

  get lookAhead(): Frames {
    return frames(this.#foldbackLimiter.lookAhead);
  }

  /** First engine frame after whatever is still fading. */
  get silentFrom(): Frames {
    return frames(this.#stopGain.movesAfter(this.#rendered) ? this.#rendered + this.#stopFrames : this.#rendered);
  }

  /** Other bar lines hold from now on; where a change to them lies ahead, from that line on. */
  useGrid(grid: ProgramGrid): void {
    if (this.#changesAt < Infinity) this.#nextGrid = grid;
    else this.#grid = grid;
  }

  /**
   * Plays from an engine frame on; song position 0 is engine frame `origin`. From the top, leads and a count-in sound
   * before position 0; under way, every voice is joined where it would be.
   */
  start(startsAt: Frames, origin: Frames, how: 'from-the-top' | 'under-way'): void {
    this.#nextStartsAt = startsAt;
    this.#nextOrigin = origin;
    this.#nextHow = how;
  }

  /** From a line on that has not been rendered, other bar lines hold, and position 0 is that line. */
  change(grid: ProgramGrid, line: Frames): void {
    this.#nextGrid = grid;
    this.#changesAt = line;
  }

  /** Song position 0 is another engine frame from now on. Only where nothing but the click sounds. */
  moveOrigin(origin: Frames): void {
    this.#startsAt += origin - this.#origin;
    this.#origin = origin;
    this.#nextOrigin = origin;
  }

  /** Fades out from an engine frame on that has not been rendered. */
  stop(at: Frames): void {
    this.#nextStartsAt = Infinity;
    this.#changesAt = Infinity;
    this.#stopGain.moveTo(0, at);
  }

  /** Frames of voices that were late since the last call. */
  takeLate(): number {
    const late = this.#late;
    this.#late = 0;
    return late;
  }

  /** @param house null where nothing is connected to it. */
  process(foldback: StereoBlock, house: StereoBlock | null, count: number): void {
    let at = 0;
    while (at < count) {
      if (this.#rendered >= this.#nextStartsAt) this.#begin();
      if (this.#rendered >= this.#changesAt) this.#changeGrid();
      const next = Math.min(this.#nextStartsAt, this.#changesAt);
      const step = Math.min(MIX_FRAMES, count - at, next - this.#rendered);
      this.#renderStep(foldback, house, at, step);
      at += step;
    }
    this.#foldbackLimiter.process(foldback[0], foldback[1], count);
    if (house !== null) this.#houseLimiter.process(house[0], house[1], count);
  }

  #begin(): void {
    this.#startsAt = this.#nextStartsAt;
    this.#origin = this.#nextOrigin;
    this.#nextStartsAt = Infinity;
    if (this.#nextHow === 'from-the-top') this.#mixer.startFrom(this.#origin);
    else this.#mixer.joinFrom(this.#origin, this.#startsAt);
    this.#stopGain.set(1);
  }

  #changeGrid(): void {
    this.#grid = this.#nextGrid;
    this.#origin = this.#changesAt;
    this.#startsAt = this.#changesAt;
    this.#changesAt = Infinity;
  }

  #renderStep(foldback: StereoBlock, house: StereoBlock | null, at: number, count: number): void {
    const left = this.#left;
    const right = this.#right;
    const clicks = this.#clicks;
    const frame = this.#rendered;
    left.fill(0, 0, count);
    right.fill(0, 0, count);
    clicks.fill(0, 0, count);
    if (this.#grid !== null && (this.#stopGain.target > 0 || this.#stopGain.movesAfter(frame))) {
      const position = frame - this.#origin;
      this.#late += this.#mixer.render(frame, count, left, right);
      this.#click.add(this.#grid, this.#origin, this.#startsAt - this.#origin, position, count, clicks);
    }
    for (let i = 0; i < count; i++) {
      const gain = this.#stopGain.at(frame + i);
      const l = (left[i] ?? 0) * gain;
      const r = (right[i] ?? 0) * gain;
      const click = (clicks[i] ?? 0) * gain;
      foldback[0][at + i] = l + click;
      foldback[1][at + i] = r + click;
      if (house === null) continue;
      house[0][at + i] = l;
      house[1][at + i] = r;
    }
    this.#rendered += count;
  }
}
