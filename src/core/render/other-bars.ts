/**
 * A program with other bar lines than those in use comes while something plays: how it takes over, by the rule in
 * bar-lines.ts. Audio thread; runs while a command is handled.
 */
import { ProgramGrid } from '../program/program-grid.js';
import type { Program } from '../program/program.js';
import { spliceBars } from '../program/stretch-changes.js';
import type { RunningPlan } from '../transport/plan.js';
import { frames } from '../units/index.js';
import type { Ending } from './bar-lines.js';
import { barForChange, endingsUpTo, isReachable, movedUp, sameInstant } from './bar-lines.js';
import type { BarKeeper, BarPlayers, BarState } from './bar-state.js';

export class OtherBars {
  readonly #with: BarPlayers;
  readonly #keeper: BarKeeper;
  readonly #state: BarState;

  constructor(players: BarPlayers, keeper: BarKeeper, state: BarState) {
    this.#with = players;
    this.#keeper = keeper;
    this.#state = state;
  }

  /** Standstills of theirs that lie behind us lasted as long as those in use. */
  use(program: Program, inUse: ProgramGrid, plan: RunningPlan): void {
    const { mixer, output } = this.#with;
    const bar = inUse.barAt(output.rendered - plan.origin);
    const { grid, endings } = endingsUpTo(new ProgramGrid(program.stretches), this.#state.endings, bar);
    if (plan.passes.length > 0 || (mixer.hasVoices && !mixer.keepsBodies(program))) {
      this.#changeAtALine(program, grid, endings, inUse, plan);
      return;
    }
    const moved = mixer.hasVoices ? this.#keepRound(program, plan) : this.#keepPlace(inUse, grid, plan);
    if (moved !== plan) this.#keeper.setPlan(moved);
    this.#state.takeUp(program, grid, moved, endings);
    mixer.useProgram(endings.reduce(movedUp, program), this.#state.standing(moved));
  }

  #changeAtALine(
    program: Program,
    after: ProgramGrid,
    endings: readonly Ending[],
    before: ProgramGrid,
    plan: RunningPlan,
  ): void {
    const { mixer, output } = this.#with;
    const state = this.#state;
    const { origin } = plan;
    const earliest = Math.max(this.#keeper.earliest() + mixer.rampFrames, state.from);
    const bar = barForChange(before, plan, earliest - origin);
    const line = before.lineAt(bar);
    if (!isReachable(line)) {
      state.waiting = program;
      return;
    }
    const grid = new ProgramGrid(spliceBars(before, after, bar));
    state.program = program;
    state.grid = grid;
    state.shift = line - after.lineAt(bar);
    state.endings = endings;
    state.from = origin + line;
    output.useGrid(grid);
    const moved = endings.reduce(movedUp, program);
    mixer.changeBars(moved, origin + line, origin + state.shift, output.rendered);
  }

  /** The click alone plays: it goes on from the same part of the same bar. */
  #keepPlace(before: ProgramGrid, after: ProgramGrid, plan: RunningPlan): RunningPlan {
    const { output } = this.#with;
    const { rendered } = output;
    const position = rendered - plan.origin;
    const there = rendered < plan.startsAt ? position : sameInstant(before, after, position);
    if (there === position) return plan;
    const origin = frames(rendered - there);
    output.moveOrigin(origin);
    return { ...plan, origin };
  }

  /** The loop that plays was read as other bars: it goes on where it is, and bars are counted by the new reading. */
  #keepRound(program: Program, plan: RunningPlan): RunningPlan {
    const { output, mixer } = this.#with;
    const from = plan.origin + this.#state.shift;
    const by = mixer.roundShift(program, output.rendered - from);
    mixer.readAnew(program, by);
    if (from + by === plan.origin) return plan;
    const origin = frames(from + by);
    output.moveOrigin(origin);
    return { ...plan, origin };
  }
}
