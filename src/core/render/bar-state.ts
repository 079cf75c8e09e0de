/**
 * The bar lines in use while something plays, and how they lie to those of the program. Positions count from the plan's
 * origin. Audio thread; changed while commands are handled.
 */
import type { ProgramGrid } from '../program/program-grid.js';
import type { Program } from '../program/program.js';
import type { Plan } from '../transport/plan.js';
import type { Frames } from '../units/index.js';
import type { Ending } from './bar-lines.js';
import type { EngineReport } from './commands.js';
import type { Mixer, Standing } from './mixer.js';
import type { Output } from './output.js';
import type { Passes } from './passes.js';

export interface BarPlayers {
  readonly mixer: Mixer;
  readonly output: Output;
  readonly passes: Passes;
  readonly report: (report: EngineReport) => void;
}

/** What the conductor does for them. */
export interface BarKeeper {
  /** First engine frame that can still be changed. */
  earliest(): Frames;
  setPlan(plan: Plan): void;
  /** Another take: what it replaces is silent from the pass's line on. */
  hush(pass: number, line: number): void;
}

export class BarState {
  program: Program | null = null;
  grid: ProgramGrid | null = null;
  /** Positions of the program lie so much earlier than those that count from the plan's origin. */
  shift = 0;
  /** Standstills of the program that were ended, in its positions, in order. */
  endings: readonly Ending[] = [];
  /** Engine frame of the newest line from which others hold. */
  from = -Infinity;
  /** A program with other bar lines that came while time stands still. */
  waiting: Program | null = null;
  readonly #output: Output;

  constructor(output: Output) {
    this.#output = output;
  }

  /** The program's own bar lines, or those with some standstills ended, and nothing else. */
  reset(program: Program, grid: ProgramGrid, endings: readonly Ending[]): void {
    this.program = program;
    this.grid = grid;
    this.shift = 0;
    this.endings = endings;
    this.from = -Infinity;
    this.waiting = null;
  }

  /** The same, and the click goes by them. */
  takeUp(program: Program, grid: ProgramGrid, plan: Plan, endings: readonly Ending[] = []): void {
    this.reset(program, grid, endings);
    if (plan.type === 'running') this.#output.useGrid(grid);
  }

  standing(plan: Plan): Standing {
    return {
      at: this.#output.rendered,
      origin: plan.type === 'running' ? plan.origin + this.shift : null,
    };
  }
}
