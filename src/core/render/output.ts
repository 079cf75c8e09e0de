/**
 * From voices and click to what leaves the engine: the two buses as they are, or routed to the channels of a device.
 * Audio thread; allocates in the constructor only.
 */
import type { ProgramGrid } from '../program/program-grid.js';
import type { Frames, SampleRate } from '../units/index.js';
import { frames } from '../units/index.js';
import type { Buses } from './buses.js';
import type { ClickTrack } from './click.js';
import type { Mixer } from './mixer.js';
import { MIX_FRAMES } from './mixer.js';
import { Ramp } from './ramp.js';
import type { Probe } from './probe.js';
import { ReferenceTrack } from './reference-track.js';
import type { Router } from './routing.js';
import type { StereoBlock } from './stereo.js';
import { stereoSum } from './stereo.js';

const STOP_FADE_SECONDS = 0.01;

export interface OutputParts {
  readonly mixer: Mixer;
  readonly click: ClickTrack;
  readonly buses: Buses;
  readonly router: Router;
  readonly probe: Probe;
}

export class Output {
  readonly #mixer: Mixer;
  readonly #click: ClickTrack;
  readonly #buses: Buses;
  readonly #router: Router;
  readonly #probe: Probe;
  readonly reference: ReferenceTrack;
  readonly #stopGain: Ramp;
  readonly #music = stereoSum(MIX_FRAMES);
  readonly #clicks = new Float64Array(MIX_FRAMES);
  readonly #references = new Float32Array(MIX_FRAMES);
  #rendered = 0;
  #grid: ProgramGrid | null = null;
  #origin = 0;
  #startsAt = Infinity;
  /** A start that has been ordered and not yet been reached. */
  #nextStartsAt = Infinity;
  #nextOrigin = 0;
  #nextHow: 'from-the-top' | 'under-way' = 'from-the-top';
  #startGrid: ProgramGrid | null = null;
  #nextGrid: ProgramGrid | null = null;
  #changesAt = Infinity;
  #late = 0;

  constructor(rate: SampleRate, { mixer, click, buses, router, probe }: OutputParts) {
    this.#mixer = mixer;
    this.#click = click;
    this.#buses = buses;
    this.#router = router;
    this.#probe = probe;
    this.reference = new ReferenceTrack(buses.lookAhead);
    this.#stopGain = new Ramp(0, Math.round(STOP_FADE_SECONDS * rate));
  }

  get rendered(): Frames {
    return frames(this.#rendered);
  }

  get lookAhead(): Frames {
    return this.#buses.lookAhead;
  }

  /** First engine frame after whatever is still fading. */
  get silentFrom(): Frames {
    return frames(this.#stopGain.movesAfter(this.#rendered) ? this.#stopGain.ends : this.#rendered);
  }

  /** Whether something sounds, or will at once. */
  get isPlaying(): boolean {
    return this.#stopGain.target > 0;
  }

  /** Engine frame of position 0 of a start that was ordered and has not been reached; NaN where there is none. */
  get comingOrigin(): number {
    return this.#nextStartsAt < Infinity ? this.#nextOrigin : NaN;
  }

  /** Engine frame from which time stands still until a press; Infinity where it goes on. */
  get standsStillFrom(): number {
    const still = this.#grid?.standstill ?? null;
    return still === null ? Infinity : this.#origin + still.from;
  }

  /** While playing: other bar lines hold from now on; where a change or a start lies ahead, from there on. */
  useGrid(grid: ProgramGrid): void {
    if (this.#changesAt < Infinity) this.#nextGrid = grid;
    else if (this.#nextStartsAt < Infinity) this.#startGrid = grid;
    else {
      this.#ringOn();
      this.#grid = grid;
    }
  }

  /**
   * Plays from an engine frame on; song position 0 is engine frame `origin`. From the top, leads and a count-in sound
   * before position 0; under way, every voice is joined where it would be.
   */
  start(startsAt: Frames, origin: Frames, how: 'from-the-top' | 'under-way', grid: ProgramGrid): void {
    this.#startGrid = grid;
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
    this.#ringOn();
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

  /** The buses as they are. @param house null where nobody wants it. */
  process(input: readonly Float32Array[], foldback: StereoBlock, house: StereoBlock | null, count: number): void {
    let at = 0;
    while (at < count) {
      const step = this.#renderStep(input, at, count - at, false);
      copy(this.#buses.foldback, foldback, at, step);
      if (house !== null) copy(this.#buses.house, house, at, step);
      at += step;
    }
  }

  /** To the channels of a device, by the routing in use; a loud start is turned down. */
  send(input: readonly Float32Array[], channels: readonly Float32Array[], count: number): void {
    let at = 0;
    while (at < count) {
      const frame = this.#rendered;
      const step = this.#renderStep(input, at, count - at, true);
      this.#router.route(this.#buses.house, this.#buses.foldback, this.#references, channels, at, frame, step);
      at += step;
    }
  }

  #begin(): void {
    this.#grid = this.#startGrid;
    this.#click.restart();
    this.#startsAt = this.#nextStartsAt;
    this.#origin = this.#nextOrigin;
    this.#nextStartsAt = Infinity;
    if (this.#nextHow === 'from-the-top') this.#mixer.startFrom(this.#origin, this.#startsAt);
    else this.#mixer.joinFrom(this.#origin, this.#startsAt);
    this.#stopGain.set(1);
  }

  #changeGrid(): void {
    this.#ringOn();
    this.#grid = this.#nextGrid;
    this.#origin = this.#changesAt;
    this.#startsAt = this.#changesAt;
    this.#changesAt = Infinity;
  }

  /**
   * Renders both buses, up to the next frame at which something begins.
   * @param from the frame of the input that belongs to the first frame rendered.
   * @returns frames rendered: at most `most`, at least one.
   */
  #renderStep(input: readonly Float32Array[], from: number, most: number, guarded: boolean): number {
    if (this.#rendered >= this.#nextStartsAt) this.#begin();
    if (this.#rendered >= this.#changesAt) this.#changeGrid();
    const frame = this.#rendered;
    const next = Math.min(this.#nextStartsAt, this.#changesAt);
    const count = Math.min(MIX_FRAMES, most, next - frame);
    this.#play(frame, count);
    this.#probe.add(frame, count, this.#clicks);
    this.#refer(frame, count);
    this.#buses.render(this.#music, this.#clicks, input, from, frame, count, guarded);
    this.#rendered += count;
    return count;
  }

  #refer(frame: number, count: number): void {
    const grid = this.#stopGain.target > 0 ? this.#grid : null;
    this.reference.fill(grid, this.#origin, this.#startsAt, frame, count, this.#references);
  }

  /** The bar lines in use are about to be others: knocks that have begun sound to their end. */
  #ringOn(): void {
    if (this.#grid !== null) this.#click.ringOn(this.#grid, this.#origin, this.#startsAt, this.#rendered);
  }

  /** Music and clicks, under the fade that ends them. */
  #play(frame: number, count: number): void {
    const [left, right] = this.#music;
    const clicks = this.#clicks;
    left.fill(0, 0, count);
    right.fill(0, 0, count);
    clicks.fill(0, 0, count);
    const fades = this.#stopGain.movesAfter(frame);
    if (this.#grid === null || (this.#stopGain.target === 0 && !fades)) return;
    this.#late += this.#mixer.render(frame, count, left, right);
    this.#click.add(this.#grid, this.#origin, this.#startsAt, frame, count, clicks);
    for (let i = 0; i < count && fades; i++) {
      const gain = this.#stopGain.at(frame + i);
      left[i] = (left[i] ?? 0) * gain;
      right[i] = (right[i] ?? 0) * gain;
      clicks[i] = (clicks[i] ?? 0) * gain;
    }
  }
}

function copy(from: StereoBlock, to: StereoBlock, at: number, count: number): void {
  for (let i = 0; i < count; i++) {
    to[0][at + i] = from[0][i] ?? 0;
    to[1][at + i] = from[1][i] ?? 0;
  }
}
