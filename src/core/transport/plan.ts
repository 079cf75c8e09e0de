/**
 * The plan: what the engine is going to do, as immutable data. The state at any frame, heard or rendered, past or
 * future, is read off the plan (state-at.ts), so nothing has to happen at a bar line for the state to change; only
 * what the player does changes the plan (step.ts), and a pass that has been captured whole leaves it.
 */
import type { Bars, Frames } from '../units/index.js';

/** One time round while something is recorded. Bar lines count from the plan's origin. */
export interface Pass {
  /** Unique while the engine lives; also the id of the voice that will play it. */
  readonly number: number;
  readonly startBar: Bars;
  /** The closing line. Null while the length is open. */
  readonly endBar: Bars | null;
  /** True where layers sound under it (Layering), false for the first (Recording). */
  readonly over: boolean;
  /** While it lasts, the next pass is lined up after it (the setting *keep layering*), until the player says no. */
  readonly keepsGoing: boolean;
}

/** Nothing sounds, and nothing will. */
export interface StoppedPlan {
  readonly type: 'stopped';
  /** Engine frame at which the closing fade begins. */
  readonly at: Frames;
}

export interface RunningPlan {
  readonly type: 'running';
  /** First click, lead or note. */
  readonly startsAt: Frames;
  /** Engine frame of bar line 0. */
  readonly origin: Frames;
  /** In order of time. Each begins where the one before it ends, or later. */
  readonly passes: readonly Pass[];
}

/** Recording without a tempo: no bar lines yet. Once both ends are pressed, it waits for the tempo that fits. */
export interface FreePlan {
  readonly type: 'free';
  /** The heard frames of the two presses. */
  readonly startsAt: Frames;
  readonly endsAt: Frames | null;
}

export type Plan = StoppedPlan | RunningPlan | FreePlan;
