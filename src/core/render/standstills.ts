/**
 * Where time stands still in the bar lines in use, and how it goes on: on a press, before something that begins on a
 * press, or not at all. Audio thread; runs while commands are handled.
 */
import { ProgramGrid } from '../program/program-grid.js';
import { STANDSTILL } from '../program/program.js';
import { endStandstill } from '../program/stretch-changes.js';
import type { Plan, RunningPlan } from '../transport/plan.js';
import type { Frames } from '../units/index.js';
import { bars, frames } from '../units/index.js';
import { isReachable } from './bar-lines.js';
import type { BarKeeper, BarPlayers, BarState } from './bar-state.js';

export class Standstills {
  readonly #with: BarPlayers;
  readonly #keeper: BarKeeper;
  readonly #state: BarState;
  readonly #wentOn: (plan: RunningPlan) => void;

  /** @param wentOn called each time that time goes on. */
  constructor(players: BarPlayers, keeper: BarKeeper, state: BarState, wentOn: (plan: RunningPlan) => void) {
    this.#with = players;
    this.#keeper = keeper;
    this.#state = state;
    this.#wentOn = wentOn;
  }

  /** Whether time stands still at a heard frame. */
  isAt(heard: Frames, plan: Plan): boolean {
    return plan.type === 'running' && this.#state.grid?.standsStillAt(heard - plan.origin) === true;
  }

  /** As BarsInUse.endStandstill. */
  end(heard: Frames, plan: Plan): boolean {
    const still = this.#state.grid?.standstill ?? null;
    if (plan.type !== 'running' || still === null || heard - plan.origin < still.heldFrom) return false;
    const { mixer } = this.#with;
    const joins = mixer.hasVoices || this.#state.waiting !== null;
    this.#goOn(plan, frames(this.#keeper.earliest() + (joins ? mixer.rampFrames : 0)));
    return true;
  }

  /** Playing stops where time stands still: the bar ends there, and nothing that comes after it sounds. */
  endInSilence(heard: Frames, plan: Plan): void {
    const { grid } = this.#state;
    if (plan.type !== 'running' || grid === null || !this.isAt(heard, plan)) return;
    const ended = new ProgramGrid(endStandstill(grid, heard - plan.origin));
    this.#state.grid = ended;
    this.#with.passes.moveLines(ended);
  }

  /** As BarsInUse.goOnBefore. */
  goOnBefore(plan: RunningPlan, barAt: (grid: ProgramGrid) => number): boolean {
    let went = false;
    for (;;) {
      const { grid } = this.#state;
      if (grid === null || grid.standstill === null || isReachable(grid.lineAt(barAt(grid)))) return went;
      this.#goOn(plan, this.#keeper.earliest());
      went = true;
    }
  }

  /** Time goes on at an engine frame that has not been rendered. */
  #goOn(plan: RunningPlan, at: Frames): void {
    const { mixer, output, passes, report } = this.#with;
    const state = this.#state;
    const before = state.grid;
    const still = before?.standstill ?? null;
    if (before === null || still === null) return;
    const { origin } = plan;
    const grid = new ProgramGrid(endStandstill(before, at - origin));
    const behind = still.from + STANDSTILL;
    const by = grid.lineAt(still.bar + 1) - before.lineAt(still.bar + 1);
    state.grid = grid;
    state.endings = [...state.endings, { behind: behind - state.shift, by }];
    output.useGrid(grid);
    mixer.moveBehind(origin + behind, by, output.rendered);
    for (const voice of passes.moveLines(grid)) mixer.moveOwn(voice, origin, output.rendered);
    for (const { number, startBar } of plan.passes) {
      if (before.lineAt(startBar) >= behind) this.#keeper.hush(number, origin + grid.lineAt(startBar));
    }
    report({ type: 'standstill-ended', at, bar: bars(still.bar), position: frames(at - origin - state.shift) });
    this.#wentOn(plan);
  }
}
