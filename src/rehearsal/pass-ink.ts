/** The ink of the pass that is coming in, while it grows. */
import type { Ink } from '../core/chart/ink.js';
import { InkBuilder } from '../core/chart/ink-from-audio.js';
import type { ProgramGrid } from '../core/program/program-grid.js';
import type { Pass, Plan } from '../core/transport/plan.js';
import { passAt } from '../core/transport/state-at.js';
import type { Frames, SampleRate } from '../core/units/index.js';
import type { TakingIn } from './taking-in.js';

/** Bars that an open pass is drawn over, until it is longer. */
const OPEN_BARS = 4;

export class PassInk {
  readonly #takingIn: TakingIn;
  readonly #rate: SampleRate;
  #drawn: { readonly pass: number; readonly builder: InkBuilder } | null = null;

  constructor(takingIn: TakingIn, rate: SampleRate) {
    this.#takingIn = takingIn;
    this.#rate = rate;
  }

  get isDrawing(): boolean {
    return this.#drawn !== null;
  }

  isOf(pass: number): boolean {
    return this.#drawn?.pass === pass;
  }

  /** Begins to draw the pass that is heard, if it is not the one being drawn. */
  follow(plan: Plan, heard: Frames, grid: ProgramGrid, roundTrip: Frames): void {
    const pass = plan.type === 'running' ? passAt(plan, heard, grid) : null;
    if (plan.type !== 'running' || pass === null || this.isOf(pass.number)) return;
    const builder = new InkBuilder({ sampleRate: this.#rate, barFrames: grid.barFrames(pass.startBar) });
    this.#takingIn.growInk(builder, plan.origin + grid.lineOf(pass.startBar) + roundTrip);
    this.#drawn = { pass: pass.number, builder };
  }

  /** What has been drawn of a pass; null where another is drawn, or none. `barHeard` counts from the plan's origin. */
  growing(pass: Pass | null, barHeard: number): Ink | null {
    return pass !== null && this.#drawn?.pass === pass.number
      ? this.#drawn.builder.ink(barsDrawn(pass, barHeard))
      : null;
  }

  /** Nothing becomes of a pass that could be drawn any further. */
  letGo(pass: number): void {
    if (this.isOf(pass)) this.#drawn = null;
  }

  /** The ink of a pass that is whole, where it was drawn; it is drawn no more. */
  take(pass: number, bars: number): Ink | null {
    if (this.#drawn?.pass !== pass) return null;
    const ink = this.#drawn.builder.ink(bars);
    this.#drawn = null;
    return ink;
  }
}

/** A set length, or as many fours as an open pass has begun. */
function barsDrawn(pass: Pass, barHeard: number): number {
  if (pass.endBar !== null) return pass.endBar - pass.startBar;
  return OPEN_BARS * (1 + Math.floor(Math.max(0, barHeard - pass.startBar) / OPEN_BARS));
}
