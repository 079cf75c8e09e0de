/**
 * The bar lines in use while something plays, and how those of a program take over (the rule is in bar-lines.ts). They
 * count from the plan's origin. Mostly they are the program's own; not where others were in use before them
 * (other-bars.ts), nor where time stood still and went on (standstills.ts). Then the page is told (`bars-changed`), and
 * when playing starts anew all that is over.
 *
 * Audio thread; runs while commands are handled, and may allocate a little.
 */
import { ProgramGrid } from '../program/program-grid.js';
import type { Program } from '../program/program.js';
import type { Plan, RunningPlan } from '../transport/plan.js';
import type { Frames } from '../units/index.js';
import { movedUp, sameBars } from './bar-lines.js';
import type { BarKeeper, BarPlayers } from './bar-state.js';
import { BarState } from './bar-state.js';
import { OtherBars } from './other-bars.js';
import { Standstills } from './standstills.js';

export class BarsInUse {
  readonly #with: BarPlayers;
  readonly #state: BarState;
  readonly #others: OtherBars;
  readonly #standstills: Standstills;
  /** The stretches that the page reckons with. */
  #told: Float64Array | null = null;

  constructor(players: BarPlayers, keeper: BarKeeper) {
    this.#with = players;
    this.#state = new BarState(players.output);
    this.#others = new OtherBars(players, keeper, this.#state);
    this.#standstills = new Standstills(players, keeper, this.#state, (plan) => {
      this.takeUpWaiting(plan);
      this.tell(plan);
    });
  }

  get program(): Program | null {
    return this.#state.program;
  }

  get grid(): ProgramGrid | null {
    return this.#state.grid;
  }

  /** Engine frame of the newest line from which others hold; no change comes before it. */
  get from(): number {
    return this.#state.from;
  }

  /** Position from the plan's origin at which the program runs out; Infinity where nothing is missing. */
  get pageFrames(): number {
    const { program, shift, endings } = this.#state;
    return program === null ? Infinity : shift + endings.reduce(movedUp, program).pageFrames;
  }

  /** A program comes: its voices, and its bar lines by the rule. */
  use(program: Program, plan: Plan): void {
    const { mixer } = this.#with;
    const state = this.#state;
    const inUse = state.grid;
    this.#told = program.stretches;
    state.waiting = null;
    if (plan.type !== 'running' || inUse === null || state.program === null) {
      state.takeUp(program, new ProgramGrid(program.stretches), plan);
      mixer.useProgram(program, state.standing(plan));
    } else if (sameBars(program.stretches, state.program.stretches)) {
      state.program = program;
      mixer.useProgram(state.endings.reduce(movedUp, program), state.standing(plan));
    } else if (state.shift === 0 && sameBars(program.stretches, inUse.stretches)) {
      state.program = program;
      state.endings = [];
      mixer.useProgram(program, state.standing(plan));
    } else this.#others.use(program, inUse, plan);
  }

  /** Another section begins at a line: the program's own bar lines, and position 0 is that line. */
  changeTo(program: Program, grid: ProgramGrid): void {
    this.#state.reset(program, grid, []);
  }

  /** Playing starts, or its line 0 becomes another: the program's own bar lines, with every standstill in them. */
  startAnew(plan: Plan): void {
    const { program, grid } = this.#state;
    if (program === null || grid?.stretches === program.stretches) return;
    this.#state.takeUp(program, new ProgramGrid(program.stretches), plan);
    this.#with.mixer.settle();
    if (plan.type === 'running') return;
    this.#told = program.stretches;
    this.#with.mixer.useProgram(program, this.#state.standing(plan));
  }

  /** Whether time stands still at a heard frame. */
  standStillAt(heard: Frames, plan: Plan): boolean {
    return this.#standstills.isAt(heard, plan);
  }

  /**
   * The press on which time goes on: at once, that is at the first frame that can still be rendered. Heard from the
   * beginning of the held beat on; where it is early, the beat is not held.
   * @returns false where time does not stand still.
   */
  endStandstill(heard: Frames, plan: Plan): boolean {
    return this.#standstills.end(heard, plan);
  }

  /** Playing stops where time stands still: the bar ends there, and nothing that comes after it sounds. */
  endInSilence(heard: Frames, plan: Plan): void {
    this.#standstills.endInSilence(heard, plan);
  }

  /**
   * Something is to begin at a line, on a press: where time stands still before that line, it goes on.
   * @param barAt the bar of that line.
   * @returns whether it did.
   */
  goOnBefore(plan: RunningPlan, barAt: (grid: ProgramGrid) => number): boolean {
    return this.#standstills.goOnBefore(plan, barAt);
  }

  /** Playing has stopped: a program that waits need not wait any longer. */
  takeUpWaiting(plan: Plan): void {
    const { waiting } = this.#state;
    if (waiting !== null) this.use(waiting, plan);
  }

  /** Tells the page where the bar lines are, where it cannot know. */
  tell(plan: Plan): void {
    const { grid } = this.#state;
    if (plan.type !== 'running' || grid === null) return;
    if (this.#told !== null && sameBars(this.#told, grid.stretches)) return;
    this.#told = grid.stretches;
    this.#with.report({ type: 'bars-changed', at: this.#with.output.rendered, stretches: grid.stretches });
  }
}
