/**
 * The conductor: what the player does, carried out. It holds the plan, asks the pure transport what follows, and tells
 * recorder, passes, mixer and output. Audio thread; runs while commands are handled, and once a block to see whether a
 * pass has been captured whole.
 */
import { isRepeatPress, lineForChange, lineNotBefore } from '../meter/presses.js';
import { ProgramGrid } from '../program/program-grid.js';
import type { Program } from '../program/program.js';
import { STANDSTILL } from '../program/program.js';
import { endStandstill, spliceBars } from '../program/stretch-changes.js';
import type { Plan, RunningPlan } from '../transport/plan.js';
import type { StepContext, TransportEffect, TransportEvent } from '../transport/step.js';
import { step, withoutPass } from '../transport/step.js';
import type { Bars, Frames, SampleRate } from '../units/index.js';
import { bars, frames } from '../units/index.js';
import type { Ending } from './bar-lines.js';
import { barForChange, isReachable, movedUp, sameBars, sameInstant } from './bar-lines.js';
import type { EngineCommand, EngineReport, PassRules, RefusedBecause, RoundTrip } from './commands.js';
import { FreeTake } from './free-take.js';
import type { Mixer, Standing } from './mixer.js';
import type { Output } from './output.js';
import type { Passes } from './passes.js';
import type { Recorder } from './recorder.js';
import type { InputRing } from './ring.js';
import type { SeamCurves } from './seam-curves.js';

/** Programs that may stand by at a time. */
const STAND_BY = 8;
/** More of an endless program is asked for this long before it runs out. */
const PAGE_SECONDS = 10;

export interface Players {
  readonly rate: SampleRate;
  readonly ring: InputRing;
  readonly recorder: Recorder;
  readonly passes: Passes;
  readonly mixer: Mixer;
  readonly output: Output;
  readonly seam: SeamCurves;
  readonly report: (report: EngineReport) => void;
}

export class Conductor {
  readonly #with: Players;
  readonly #free: FreeTake;
  readonly #standingBy = new Map<number, Program>();
  #program: Program | null = null;
  #grid: ProgramGrid | null = null;
  #plan: Plan = { type: 'stopped', at: frames(0) };
  #rules: PassRules = {
    bars: null,
    countIn: bars(1),
    channels: [0],
    withoutTempo: false,
    keepLayering: false,
    replaces: null,
  };
  #roundTrip: RoundTrip = { frames: frames(0), how: 'estimated', sure: false };
  /** The bar lines up to the last change of section, and where they count from; null where there was none. */
  #changes: { readonly origin: Frames; readonly grid: ProgramGrid } | null = null;
  /** Program positions lie so much later than those that the plan's origin counts. */
  #shift = 0;
  /** Standstills of the program that were ended, in its positions. */
  #endings: readonly Ending[] = [];
  /** Engine frame of the newest line from which other bar lines hold. */
  #barsFrom = -Infinity;
  /** A program with other bar lines that came while time stands still. */
  #waiting: Program | null = null;
  /** The stretches that the page reckons with. */
  #told: Float64Array | null = null;
  #nextPass = 1;
  #lastPress: Frames | null = null;
  #blockFrames = 128;
  /** Engine frame at which more of the program is asked for; Infinity where it has no end or was asked for. */
  #pageAt = Infinity;

  constructor(players: Players) {
    this.#with = players;
    this.#free = new FreeTake(players.recorder, players.rate, players.report);
  }

  get plan(): Plan {
    return this.#plan;
  }

  setRules(rules: PassRules): void {
    this.#rules = rules;
  }

  setRoundTrip(roundTrip: RoundTrip): void {
    this.#roundTrip = roundTrip;
  }

  /** Its bar lines take over by the rule in bar-lines.ts. */
  useProgram(program: Program): void {
    const { mixer } = this.#with;
    const plan = this.#plan;
    const inUse = this.#grid;
    const grid = new ProgramGrid(program.stretches);
    this.#told = program.stretches;
    if (plan.type !== 'running' || inUse === null || this.#program === null) {
      this.#takeUp(program, grid);
      mixer.useProgram(program, this.#standing());
    } else if (sameBars(program.stretches, this.#program.stretches)) {
      this.#program = program;
      mixer.useProgram(this.#endings.reduce(movedUp, program), this.#standing(this.#shift));
    } else if (this.#shift === 0 && sameBars(program.stretches, inUse.stretches)) {
      this.#program = program;
      this.#endings = [];
      mixer.useProgram(program, this.#standing());
    } else if (plan.passes.length === 0 && (!mixer.hasVoices || mixer.keepsBodies(program))) {
      this.#readAnew(program, grid, inUse);
    } else this.#changeBars(program, grid, inUse, plan);
    this.#turnPage();
    this.#tellBars();
  }

  /** @returns whether there is such a place. */
  standBy(slot: number, program: Program): boolean {
    const exists = Number.isInteger(slot) && slot >= 0 && slot < STAND_BY;
    if (exists) this.#standingBy.set(slot, program);
    else this.#refuse('stand-by', 'no-such-place');
    return exists;
  }

  /** Names what would be played at once if what is being recorded were closed now: audio, channel and first frame. */
  nameBeginnings(name: (audio: number, channel: number, frame: number) => void): void {
    this.#with.passes.nameBeginnings(name);
    this.#free.nameBeginning(name);
  }

  /** Changes to a program that stands by, at the line that the press meant or the first that can still be rendered. */
  go(slot: number, heard: Frames): void {
    const program = this.#standingBy.get(slot);
    const plan = this.#plan;
    if (program === undefined) return this.#refuse('go', 'no-such-place');
    if (plan.type !== 'running' || this.#grid === null) return this.#refuse('go', 'not-playing');
    if (plan.passes.length > 0) return this.#refuse('go', 'still-recording');
    if (!Number.isNaN(this.#with.output.comingOrigin)) return this.#refuse('go', 'not-playing');
    const wentOn = this.#goOnBefore(plan, heard);
    // Until a change can no longer be undone, lines count from where they did, and it is that change that is meant.
    const earliest = frames(Math.max(this.#earliest(), this.#barsFrom));
    const changes = this.#changes !== null && plan.origin >= earliest ? this.#changes : null;
    const { origin, grid: before } = changes ?? { origin: plan.origin, grid: this.#grid };
    const meant = lineForChange(frames(heard - origin), before);
    const possible = lineNotBefore(frames((changes === null ? earliest : plan.origin) - origin), before);
    const line = changes === null ? frames(origin + before.lineOf(bars(Math.max(meant, possible)))) : plan.origin;
    const grid = new ProgramGrid(program.stretches);
    this.#changes = { origin, grid: before };
    this.#with.mixer.change(program, line, this.#with.output.rendered);
    this.#with.output.change(grid, line);
    this.#program = program;
    this.#grid = grid;
    this.#shift = 0;
    this.#endings = [];
    this.#barsFrom = -Infinity;
    this.#setPlan({ ...plan, origin: line });
    this.#with.report({ type: 'section-changes', at: line, slot, late: possible > meant && !wentOn });
    this.#turnPage();
    this.#tellBars();
  }

  player(event: TransportEvent): void {
    if (event.type === 'press') {
      if (isRepeatPress(this.#lastPress, event.heard, this.#with.rate)) {
        return this.#refuse('press', 'pressed-again-too-soon');
      }
      this.#lastPress = event.heard;
    }
    if (this.#grid === null || this.#program === null) return this.#refuse(event.type, 'no-program');
    const before = this.#plan;
    if (event.type === 'press' && this.#standsStillAt(event.heard) && this.#endStandstill(event.heard)) return;
    if (event.type === 'stop' && this.#standsStillAt(event.heard)) this.#endInSilence(event.heard);
    if (before.type !== 'running') this.#useOwnBars();
    if (event.type === 'take-back' && before.type === 'stopped' && this.#dropClosing()) return;
    const { plan, effects } = step(before, event, this.#context(this.#grid, this.#program));
    this.#setPlan(plan);
    if (plan.type === 'running' && before.type !== 'running') {
      if (before.type === 'free') this.#free.letGo();
      const how = event.type === 'join' ? 'under-way' : 'from-the-top';
      this.#with.output.start(plan.startsAt, plan.origin, how, this.#grid);
      this.#turnPage();
    }
    if (plan.type === 'stopped' && before.type === 'running') this.#with.output.stop(plan.at);
    if (plan.type === 'running' && before.type === 'running' && plan.origin !== before.origin) {
      this.#with.output.moveOrigin(plan.origin);
      this.#useOwnBars();
    }
    for (const effect of effects) this.#carryOut(effect, event.type, plan.type === 'running' ? plan : before);
    if (plan.type === 'stopped') this.#takeUpWaiting();
    this.#tellBars();
  }

  /** See `endStandstill`; refused where time does not stand still. */
  goOn(heard: Frames): void {
    if (!this.#endStandstill(heard)) this.#refuse('end-standstill', 'not-standing-still');
  }

  /**
   * Time stands still, and this is the press on which it goes on: at once, that is at the first frame that can still be
   * rendered. Heard from the beginning of the held beat on; early, the beat is not held.
   * @returns false where time does not stand still.
   */
  #endStandstill(heard: Frames): boolean {
    const plan = this.#plan;
    const still = this.#grid?.standstill ?? null;
    if (plan.type !== 'running' || still === null || heard - plan.origin < still.heldFrom) return false;
    const { mixer } = this.#with;
    const joins = mixer.hasVoices || this.#waiting !== null;
    this.#resume(plan, frames(this.#earliest() + (joins ? mixer.rampFrames : 0)));
    return true;
  }

  /** Once a block, after the input was taken in and the block rendered. */
  afterBlock(count: number): void {
    this.#blockFrames = count;
    let number = this.#with.passes.takeCaptured(this.#with.ring.captured);
    while (number !== null) {
      this.#forget(number);
      number = this.#with.passes.takeCaptured(this.#with.ring.captured);
    }
    if (this.#with.output.rendered >= this.#pageAt) this.#askForPage();
  }

  #carryOut(effect: TransportEffect, command: TransportEvent['type'], plan: Plan): void {
    const { passes, ring, recorder } = this.#with;
    switch (effect.type) {
      case 'begin':
        if (plan.type === 'running' && this.#grid !== null) {
          this.#nextPass = Math.max(this.#nextPass, effect.pass.number + this.#rules.channels.length);
          passes.begin(effect.pass, plan.origin, this.#grid, this.#rules, this.#roundTrip);
          this.#hush(effect.pass.number, plan.origin + this.#grid.lineOf(effect.pass.startBar));
          if (effect.pass.endBar !== null) this.#close(effect.pass.number, effect.pass.endBar);
        }
        break;
      case 'close':
        this.#close(effect.number, effect.endBar);
        break;
      case 'drop':
        this.#drop(effect.number);
        break;
      case 'begin-free':
        this.#free.begin(effect.at, this.#rules.channels, this.#roundTrip);
        break;
      case 'end-free':
        this.#free.end(effect.to);
        break;
      case 'drop-free':
        this.#free.drop(ring.captured);
        break;
      case 'keep-phrase':
        recorder.keepPast(this.#rules.channels);
        break;
      case 'refuse':
        this.#refuse(command, effect.why);
        break;
      default:
        effect satisfies never;
    }
  }

  /** Where nothing plays any more, the pass is only finished: the program that holds its layer will play it. */
  #close(number: number, endBar: Bars): void {
    const { passes, mixer, seam } = this.#with;
    if (this.#grid === null) return;
    const rows = passes.close(number, endBar, this.#grid, seam.frames);
    if (this.#plan.type !== 'running') return;
    for (const row of rows) mixer.addOwn(row, seam.curves, this.#standing(), this.#rules.replaces);
  }

  #drop(number: number): void {
    const { passes, mixer, output, ring } = this.#with;
    for (const voice of passes.drop(number, ring.captured)) mixer.dropOwn(voice, output.rendered);
    mixer.unhush(number, output.rendered);
  }

  /** After a stop a pass may still be coming in: taken back, it goes before anything older does. */
  #dropClosing(): boolean {
    const newest = this.#with.passes.newest;
    if (newest === null) return false;
    this.#drop(newest);
    return true;
  }

  /** Another take: the layer that it is to replace is silent from the pass's line on. */
  #hush(pass: number, line: number): void {
    const { replaces } = this.#rules;
    if (replaces !== null) this.#with.mixer.hush(pass, replaces, Math.max(line, this.#with.output.rendered));
  }

  #forget(number: number): void {
    if (this.#plan.type !== 'running') return;
    const before = this.#plan;
    const { plan, effects } = withoutPass(before, number, { nextPass: this.#nextPass });
    this.#setPlan(plan);
    for (const effect of effects) this.#carryOut(effect, 'press', plan);
  }

  #context(grid: ProgramGrid, program: Program): StepContext {
    const rules = this.#rules;
    return {
      grid,
      earliest: this.#earliest(),
      oldest: frames(Math.max(0, this.#with.ring.oldestSafe - this.#roundTrip.frames)),
      hasLayers: this.#with.mixer.hasVoices,
      passBars: rules.bars,
      countIn: rules.countIn,
      withoutTempo: rules.withoutTempo,
      keepLayering: rules.keepLayering,
      parts: rules.channels.length,
      leadFrames: frames(Math.max(program.leadFrames, this.#with.mixer.ownLeadFrames)),
      nextPass: this.#nextPass,
    };
  }

  #earliest(): Frames {
    const { output } = this.#with;
    return frames(Math.max(output.rendered + 2 * this.#blockFrames, output.silentFrom));
  }

  /** @param shift see #shift: of the program's voices; 0 for those of passes. */
  #standing(shift = 0): Standing {
    const plan = this.#plan;
    return { at: this.#with.output.rendered, origin: plan.type === 'running' ? plan.origin + shift : null };
  }

  /** A program's own bar lines hold, and count from the plan's origin. */
  #takeUp(program: Program, grid: ProgramGrid): void {
    this.#program = program;
    this.#grid = grid;
    this.#shift = 0;
    this.#endings = [];
    this.#barsFrom = -Infinity;
    this.#waiting = null;
    if (this.#plan.type === 'running') this.#with.output.useGrid(grid);
  }

  /** Playing starts anew: what became of the bar lines the last time is over. */
  #useOwnBars(): void {
    const program = this.#program;
    if (program === null || this.#grid?.stretches === program.stretches) return;
    this.#takeUp(program, new ProgramGrid(program.stretches));
    this.#told ??= program.stretches;
    this.#with.mixer.settle();
    if (this.#plan.type !== 'running') this.#with.mixer.useProgram(program, this.#standing());
  }

  #takeUpWaiting(): void {
    const waiting = this.#waiting;
    this.#waiting = null;
    if (waiting !== null) this.useProgram(waiting);
  }

  /** What sounds stays where it is; its bars are other ones. */
  #readAnew(program: Program, grid: ProgramGrid, inUse: ProgramGrid): void {
    const { mixer, output } = this.#with;
    const plan = this.#plan;
    if (mixer.hasVoices && plan.type === 'running' && this.#shift !== 0) {
      const origin = frames(plan.origin + this.#shift);
      output.moveOrigin(origin);
      this.#setPlan({ ...plan, origin });
    }
    this.#keepPlace(inUse, grid);
    this.#keepRound(program);
    this.#takeUp(program, grid);
    mixer.useProgram(program, this.#standing());
  }

  #changeBars(program: Program, after: ProgramGrid, before: ProgramGrid, plan: RunningPlan): void {
    const { mixer, output } = this.#with;
    const { origin } = plan;
    const soonest = this.#earliest() + mixer.rampFrames;
    const bar = barForChange(before, plan, Math.max(soonest, this.#barsFrom) - origin);
    const line = before.lineAt(bar);
    if (!isReachable(line)) {
      this.#waiting = program;
      return;
    }
    this.#program = program;
    this.#shift = line - after.lineAt(bar);
    this.#endings = [];
    this.#barsFrom = origin + line;
    this.#grid = new ProgramGrid(spliceBars(before, after, bar));
    output.useGrid(this.#grid);
    mixer.changeBars(program, origin + line, origin + this.#shift, output.rendered);
  }

  #standsStillAt(heard: Frames): boolean {
    return this.#plan.type === 'running' && this.#grid?.standsStillAt(heard - this.#plan.origin) === true;
  }

  /** Time goes on at an engine frame that has not been rendered. */
  #resume(plan: RunningPlan, at: Frames): void {
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
      if (before.lineAt(startBar) >= behind) this.#hush(number, origin + grid.lineAt(startBar));
    }
    report({ type: 'standstill-ended', at, bar: bars(still.bar), position: frames(at - origin - this.#shift) });
    this.#turnPage();
    this.#takeUpWaiting();
    this.#tellBars();
  }

  /** Playing stops where time stands still: the bar ends there, and nothing that comes after it sounds. */
  #endInSilence(heard: Frames): void {
    if (this.#plan.type !== 'running' || this.#grid === null) return;
    this.#grid = new ProgramGrid(endStandstill(this.#grid, heard - this.#plan.origin));
    this.#with.passes.moveLines(this.#grid, this.#with.seam.frames);
  }

  /** A change of section is a press too: where time stands still before its line, it goes on. @returns whether it did. */
  #goOnBefore(plan: RunningPlan, heard: Frames): boolean {
    let went = false;
    for (;;) {
      const grid = this.#grid;
      const earliest = frames(this.#earliest() - plan.origin);
      if (grid === null || grid.standstill === null) return went;
      const bar = Math.max(lineForChange(frames(heard - plan.origin), grid), lineNotBefore(earliest, grid));
      if (isReachable(grid.lineAt(bar))) return went;
      this.#resume(plan, frames(plan.origin + earliest));
      went = true;
    }
  }

  /** The click alone is playing and its tempo or metre changes: it goes on from the same part of the same bar. */
  #keepPlace(before: ProgramGrid, after: ProgramGrid): void {
    const plan = this.#plan;
    const { output, mixer } = this.#with;
    if (plan.type !== 'running' || plan.passes.length > 0 || mixer.hasVoices) return;
    if (output.rendered < plan.startsAt) return;
    const position = output.rendered - plan.origin;
    const there = sameInstant(before, after, position);
    if (there === position) return;
    const origin = frames(output.rendered - there);
    this.#setPlan({ ...plan, origin });
    output.moveOrigin(origin);
  }

  /** The loop that plays was read as other bars: it goes on where it is, and bars are counted by the new reading. */
  #keepRound(program: Program): void {
    const plan = this.#plan;
    const { output, mixer } = this.#with;
    if (plan.type !== 'running' || plan.passes.length > 0) return;
    const by = mixer.roundShift(program, output.rendered - plan.origin);
    if (by === 0) return;
    const origin = frames(plan.origin + by);
    mixer.moveOrigin(by);
    output.moveOrigin(origin);
    this.#setPlan({ ...plan, origin });
  }

  #turnPage(): void {
    const plan = this.#plan;
    this.#pageAt = Infinity;
    if (plan.type !== 'running' || this.#program === null) return;
    const { pageFrames } = this.#endings.reduce(movedUp, this.#program);
    this.#pageAt = plan.origin + this.#shift + pageFrames - PAGE_SECONDS * this.#with.rate;
  }

  #askForPage(): void {
    this.#pageAt = Infinity;
    if (this.#program === null) return;
    this.#with.report({ type: 'page-wanted', at: this.#with.output.rendered, revision: this.#program.revision });
  }

  /** Lets the page know where the bar lines are, where it can't. */
  #tellBars(): void {
    const grid = this.#grid;
    if (this.#plan.type !== 'running' || grid === null) return;
    if (this.#told !== null && sameBars(this.#told, grid.stretches)) return;
    this.#told = grid.stretches;
    this.#with.report({ type: 'bars-changed', at: this.#with.output.rendered, stretches: grid.stretches });
  }

  #setPlan(plan: Plan): void {
    if (plan === this.#plan) return;
    this.#plan = plan;
    this.#with.report({ type: 'plan-changed', at: this.#with.output.rendered, plan });
  }

  #refuse(command: EngineCommand['type'], why: RefusedBecause): void {
    this.#with.report({ type: 'refused', at: this.#with.output.rendered, command, why });
  }
}
