/** Programs that stand by, and the change to one of them at a bar line. Audio thread; runs while commands are handled. */
import { lineForChange, lineNotBefore } from '../meter/presses.js';
import { ProgramGrid } from '../program/program-grid.js';
import type { Program } from '../program/program.js';
import type { Plan, RunningPlan } from '../transport/plan.js';
import type { Frames } from '../units/index.js';
import { bars, frames } from '../units/index.js';
import type { BarsInUse } from './bars-in-use.js';
import type { EngineReport, RefusedBecause } from './commands.js';
import type { Mixer } from './mixer.js';
import type { Output } from './output.js';

/** Programs that may stand by at a time. */
const STAND_BY = 8;

export interface ChangePlayers {
  readonly mixer: Mixer;
  readonly output: Output;
  readonly bars: BarsInUse;
  readonly report: (report: EngineReport) => void;
  /** First engine frame that can still be changed. */
  readonly earliest: () => Frames;
}

export class SectionChanges {
  readonly #with: ChangePlayers;
  readonly #standingBy = new Map<number, Program>();
  /** The bar lines up to the last change of section, and where they count from; null where there was none. */
  #changes: { readonly origin: Frames; readonly grid: ProgramGrid } | null = null;

  constructor(players: ChangePlayers) {
    this.#with = players;
  }

  /** @returns whether there is such a place. */
  standBy(slot: number, program: Program): boolean {
    const exists = Number.isInteger(slot) && slot >= 0 && slot < STAND_BY;
    if (exists) this.#standingBy.set(slot, program);
    return exists;
  }

  /**
   * Changes to a program that stands by, at the line that the press meant or the first that can still be rendered. What
   * is being recorded has to end by then.
   * @returns the plan from then on, or why not.
   */
  go(slot: number, heard: Frames, plan: Plan): RunningPlan | RefusedBecause {
    const { mixer, output, bars: inUse, report } = this.#with;
    const program = this.#standingBy.get(slot);
    if (program === undefined) return 'no-such-place';
    if (plan.type !== 'running' || inUse.grid === null) return 'not-playing';
    if (isUnfinished(plan, this.#barMeant(heard, plan, inUse.grid))) return 'still-recording';
    if (!Number.isNaN(output.comingOrigin)) return 'not-playing';
    const wentOn = inUse.goOnBefore(plan, (grid) => this.#barMeant(heard, plan, grid));
    // Until a change can no longer be undone, lines count from where they did, and it is that change that is meant.
    const earliest = frames(Math.max(this.#with.earliest(), inUse.from));
    const changes = this.#changes !== null && plan.origin >= earliest ? this.#changes : null;
    const { origin, grid: before } = changes ?? { origin: plan.origin, grid: inUse.grid };
    const meant = lineForChange(frames(heard - origin), before);
    const possible = lineNotBefore(frames((changes === null ? earliest : plan.origin) - origin), before);
    const line = changes === null ? frames(origin + before.lineOf(bars(Math.max(meant, possible)))) : plan.origin;
    const grid = new ProgramGrid(program.stretches);
    this.#changes = { origin, grid: before };
    mixer.change(program, line, output.rendered);
    output.change(grid, line);
    inUse.changeTo(program, grid);
    report({ type: 'section-changes', at: line, slot, late: possible > meant && !wentOn });
    return { ...plan, origin: line, passes: [] };
  }

  #barMeant(heard: Frames, { origin }: RunningPlan, grid: ProgramGrid): number {
    const possible = lineNotBefore(frames(this.#with.earliest() - origin), grid);
    return Math.max(lineForChange(frames(heard - origin), grid), possible);
  }
}

/** Whether something is still being recorded at a bar line. */
const isUnfinished = ({ passes }: RunningPlan, bar: number): boolean =>
  passes.some(({ endBar }) => endBar === null || endBar > bar);
