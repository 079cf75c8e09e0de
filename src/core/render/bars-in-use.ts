/**
 * The bar lines in use while something plays, and how those of a program take over (the rule is in bar-lines.ts). They
 * count from the plan's origin. Mostly they are the program's own; not where others were in use before them, nor where
 * time stood still and went on. Then the page is told (`bars-changed`), and when playing starts anew all that is over.
 *
 * Audio thread; runs while commands are handled, and may allocate a little.
 */
import { ProgramGrid } from '../program/program-grid.js';
import type { Program } from '../program/program.js';
import { STANDSTILL } from '../program/program.js';
import { endStandstill, spliceBars } from '../program/stretch-changes.js';
import type { Plan, RunningPlan } from '../transport/plan.js';
import type { Frames } from '../units/index.js';
import { bars, frames } from '../units/index.js';
import type { Ending } from './bar-lines.js';
import { barForChange, endingsUpTo, isReachable, movedUp, sameBars, sameInstant } from './bar-lines.js';
import type { EngineReport } from './commands.js';
import type { Mixer, Standing } from './mixer.js';
import type { Output } from './output.js';
import type { Passes } from './passes.js';
import type { SeamCurves } from './seam-curves.js';

export interface BarPlayers {
  readonly mixer: Mixer;
  readonly output: Output;
  readonly passes: Passes;
  readonly seam: SeamCurves;
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

export class BarsInUse {
  readonly #with: BarPlayers;
  readonly #keeper: BarKeeper;
  #program: Program | null = null;
  #grid: ProgramGrid | null = null;
  /** Positions of the program lie so much earlier than those that count from the plan's origin. */
  #shift = 0;
  /** Standstills of the program that were ended, in its positions, in order. */
  #endings: readonly Ending[] = [];
  /** Engine frame of the newest line from which others hold. */
  #from = -Infinity;
  /** A program with other bar lines that came while time stands still. */
  #waiting: Program | null = null;
  /** The stretches that the page reckons with. */
  #told: Float64Array | null = null;

  constructor(players: BarPlayers, keeper: BarKeeper) {
    this.#with = players;
    this.#keeper = keeper;
  }

  get program(): Program | null {
    return this.#program;
  }

  get grid(): ProgramGrid | null {
    return this.#grid;
  }

  /** Engine frame of the newest line from which others hold; no change comes before it. */
  get from(): number {
    return this.#from;
  }

  /** Position from the plan's origin at which the program runs out; Infinity where nothing is missing. */
  get pageFrames(): number {
    if (this.#program === null) return Infinity;
    return this.#shift + this.#endings.reduce(movedUp, this.#program).pageFrames;
  }

  /** A program comes: its voices, and its bar lines by the rule. */
  use(program: Program, plan: Plan): void {
    const { mixer } = this.#with;
    const inUse = this.#grid;
    this.#told = program.stretches;
    this.#waiting = null;
    if (plan.type !== 'running' || inUse === null || this.#program === null) {
      this.#takeUp(program, new ProgramGrid(program.stretches), plan);
      mixer.useProgram(program, this.#standing(plan));
    } else if (sameBars(program.stretches, this.#program.stretches)) {
      this.#program = program;
      mixer.useProgram(this.#endings.reduce(movedUp, program), this.#standing(plan));
    } else if (this.#shift === 0 && sameBars(program.stretches, inUse.stretches)) {
      this.#program = program;
      this.#endings = [];
      mixer.useProgram(program, this.#standing(plan));
    } else this.#useOthers(program, inUse, plan);
  }

  /** Another section begins at a line: the program's own bar lines, and position 0 is that line. */
  changeTo(program: Program, grid: ProgramGrid): void {
    this.#reset(program, grid, []);
  }

  /** Playing starts, or its line 0 becomes another: the program's own bar lines, with every standstill in them. */
  startAnew(plan: Plan): void {
    const program = this.#program;
    if (program === null || this.#grid?.stretches === program.stretches) return;
    this.#takeUp(program, new ProgramGrid(program.stretches), plan);
    this.#with.mixer.settle();
    if (plan.type === 'running') return;
    this.#told = program.stretches;
    this.#with.mixer.useProgram(program, this.#standing(plan));
  }

  /** Whether time stands still at a heard frame. */
  standStillAt(heard: Frames, plan: Plan): boolean {
    return plan.type === 'running' && this.#grid?.standsStillAt(heard - plan.origin) === true;
  }

  /**
   * The press on which time goes on: at once, that is at the first frame that can still be rendered. Heard from the
   * beginning of the held beat on; where it is early, the beat is not held.
   * @returns false where time does not stand still.
   */
  endStandstill(heard: Frames, plan: Plan): boolean {
    const still = this.#grid?.standstill ?? null;
    if (plan.type !== 'running' || still === null || heard - plan.origin < still.heldFrom) return false;
    const { mixer } = this.#with;
    const joins = mixer.hasVoices || this.#waiting !== null;
    this.#goOn(plan, frames(this.#keeper.earliest() + (joins ? mixer.rampFrames : 0)));
    return true;
  }

  /** Playing stops where time stands still: the bar ends there, and nothing that comes after it sounds. */
  endInSilence(heard: Frames, plan: Plan): void {
    if (plan.type !== 'running' || this.#grid === null || !this.standStillAt(heard, plan)) return;
    this.#grid = new ProgramGrid(endStandstill(this.#grid, heard - plan.origin));
    this.#with.passes.moveLines(this.#grid, this.#with.seam.frames);
  }

  /**
   * Something is to begin at a line, on a press: where time stands still before that line, it goes on.
   * @param barAt the bar of that line.
   * @returns whether it did.
   */
  goOnBefore(plan: RunningPlan, barAt: (grid: ProgramGrid) => number): boolean {
    let went = false;
    for (;;) {
      const grid = this.#grid;
      if (grid === null || grid.standstill === null || isReachable(grid.lineAt(barAt(grid)))) return went;
      this.#goOn(plan, this.#keeper.earliest());
      went = true;
    }
  }

  /** Playing has stopped: a program that waits need not wait any longer. */
  takeUpWaiting(plan: Plan): void {
    if (this.#waiting !== null) this.use(this.#waiting, plan);
  }

  /** Tells the page where the bar lines are, where it cannot know. */
  tell(plan: Plan): void {
    const grid = this.#grid;
    if (plan.type !== 'running' || grid === null) return;
    if (this.#told !== null && sameBars(this.#told, grid.stretches)) return;
    this.#told = grid.stretches;
    this.#with.report({ type: 'bars-changed', at: this.#with.output.rendered, stretches: grid.stretches });
  }

  #standing(plan: Plan): Standing {
    return {
      at: this.#with.output.rendered,
      origin: plan.type === 'running' ? plan.origin + this.#shift : null,
    };
  }

  #reset(program: Program, grid: ProgramGrid, endings: readonly Ending[]): void {
    this.#program = program;
    this.#grid = grid;
    this.#shift = 0;
    this.#endings = endings;
    this.#from = -Infinity;
    this.#waiting = null;
  }

  #takeUp(program: Program, grid: ProgramGrid, plan: Plan, endings: readonly Ending[] = []): void {
    this.#reset(program, grid, endings);
    if (plan.type === 'running') this.#with.output.useGrid(grid);
  }

  /** Standstills of theirs that lie behind us lasted as long as those in use. */
  #useOthers(program: Program, inUse: ProgramGrid, plan: RunningPlan): void {
    const { mixer, output } = this.#with;
    const bar = inUse.barAt(output.rendered - plan.origin);
    const { grid, endings } = endingsUpTo(new ProgramGrid(program.stretches), this.#endings, bar);
    if (plan.passes.length > 0 || (mixer.hasVoices && !mixer.keepsBodies(program))) {
      this.#changeAtALine(program, grid, endings, inUse, plan);
      return;
    }
    const moved = mixer.hasVoices ? this.#keepRound(program, plan) : this.#keepPlace(inUse, grid, plan);
    if (moved !== plan) this.#keeper.setPlan(moved);
    this.#takeUp(program, grid, moved, endings);
    mixer.useProgram(endings.reduce(movedUp, program), this.#standing(moved));
  }

  #changeAtALine(
    program: Program,
    after: ProgramGrid,
    endings: readonly Ending[],
    before: ProgramGrid,
    plan: RunningPlan,
  ): void {
    const { mixer, output } = this.#with;
    const { origin } = plan;
    const earliest = Math.max(this.#keeper.earliest() + mixer.rampFrames, this.#from);
    const bar = barForChange(before, plan, earliest - origin);
    const line = before.lineAt(bar);
    if (!isReachable(line)) {
      this.#waiting = program;
      return;
    }
    this.#program = program;
    this.#grid = new ProgramGrid(spliceBars(before, after, bar));
    this.#shift = line - after.lineAt(bar);
    this.#endings = endings;
    this.#from = origin + line;
    output.useGrid(this.#grid);
    const moved = endings.reduce(movedUp, program);
    mixer.changeBars(moved, origin + line, origin + this.#shift, output.rendered);
  }

  /** Time goes on at an engine frame that has not been rendered. */
  #goOn(plan: RunningPlan, at: Frames): void {
    const { mixer, output, passes, seam, report } = this.#with;
    const before = this.#grid;
    const still = before?.standstill ?? null;
    if (before === null || still === null) return;
    const { origin } = plan;
    const grid = new ProgramGrid(endStandstill(before, at - origin));
    const behind = still.from + STANDSTILL;
    const by = grid.lineAt(still.bar + 1) - before.lineAt(still.bar + 1);
    this.#grid = grid;
    this.#endings = [...this.#endings, { behind: behind - this.#shift, by }];
    output.useGrid(grid);
    mixer.moveBehind(origin + behind, by, output.rendered);
    for (const row of passes.moveLines(grid, seam.frames)) mixer.moveOwn(row, origin, output.rendered);
    for (const { number, startBar } of plan.passes) {
      if (before.lineAt(startBar) >= behind) this.#keeper.hush(number, origin + grid.lineAt(startBar));
    }
    report({ type: 'standstill-ended', at, bar: bars(still.bar), position: frames(at - origin - this.#shift) });
    this.takeUpWaiting(plan);
    this.tell(plan);
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
    const from = plan.origin + this.#shift;
    const by = mixer.roundShift(program, output.rendered - from);
    mixer.readAnew(program, by);
    if (from + by === plan.origin) return plan;
    const origin = frames(from + by);
    output.moveOrigin(origin);
    return { ...plan, origin };
  }
}
