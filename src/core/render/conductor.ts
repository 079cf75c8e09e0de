/**
 * The conductor: what the player does, carried out. It holds the plan, asks the pure transport what follows, and tells
 * recorder, passes, mixer and output. Audio thread; runs while commands are handled, and once a block to see whether a
 * pass has been captured whole.
 */
import { isRepeatPress, lineForChange, lineNotBefore } from '../meter/presses.js';
import { ProgramGrid } from '../program/program-grid.js';
import type { Program } from '../program/program.js';
import { startingLine } from '../transport/passes.js';
import type { Plan, RunningPlan } from '../transport/plan.js';
import type { StepContext, TransportEffect, TransportEvent } from '../transport/step.js';
import { step, withoutPass } from '../transport/step.js';
import type { Bars, Frames, SampleRate } from '../units/index.js';
import { bars, frames } from '../units/index.js';
import { BarsInUse } from './bars-in-use.js';
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
  readonly #bars: BarsInUse;
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
  #nextPass = 1;
  #lastPress: Frames | null = null;
  #blockFrames = 128;
  /** Engine frame at which more of the program is asked for; Infinity where it has no end or was asked for. */
  #pageAt = Infinity;

  constructor(players: Players) {
    this.#with = players;
    this.#free = new FreeTake(players.recorder, players.rate, players.report);
    this.#bars = new BarsInUse(players, {
      earliest: () => this.#earliest(),
      setPlan: (plan) => {
        this.#setPlan(plan);
      },
      hush: (pass, line) => {
        this.#hush(pass, line);
      },
    });
  }

  get #program(): Program | null {
    return this.#bars.program;
  }

  get #grid(): ProgramGrid | null {
    return this.#bars.grid;
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

  useProgram(program: Program): void {
    this.#bars.use(program, this.#plan);
    this.#turnPage();
    this.#bars.tell(this.#plan);
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
    const wentOn = this.#bars.goOnBefore(plan, (grid) =>
      Math.max(lineForChange(frames(heard - plan.origin), grid), this.#firstBar(plan, grid)),
    );
    // Until a change can no longer be undone, lines count from where they did, and it is that change that is meant.
    const earliest = frames(Math.max(this.#earliest(), this.#bars.from));
    const changes = this.#changes !== null && plan.origin >= earliest ? this.#changes : null;
    const { origin, grid: before } = changes ?? { origin: plan.origin, grid: this.#grid };
    const meant = lineForChange(frames(heard - origin), before);
    const possible = lineNotBefore(frames((changes === null ? earliest : plan.origin) - origin), before);
    const line = changes === null ? frames(origin + before.lineOf(bars(Math.max(meant, possible)))) : plan.origin;
    const grid = new ProgramGrid(program.stretches);
    this.#changes = { origin, grid: before };
    this.#with.mixer.change(program, line, this.#with.output.rendered);
    this.#with.output.change(grid, line);
    this.#bars.changeTo(program, grid);
    this.#setPlan({ ...plan, origin: line });
    this.#with.report({ type: 'section-changes', at: line, slot, late: possible > meant && !wentOn });
    this.#turnPage();
    this.#bars.tell(this.#plan);
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
    if (event.type === 'press' && this.#bars.standStillAt(event.heard, before) && this.#goOn(event.heard)) return;
    if (event.type === 'press') this.#goOnForTheFirst(event.heard, before);
    if (event.type === 'stop') this.#bars.endInSilence(event.heard, before);
    if (before.type !== 'running') this.#bars.startAnew(before);
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
      this.#bars.startAnew(plan);
    }
    for (const effect of effects) this.#carryOut(effect, event.type, plan.type === 'running' ? plan : before);
    if (plan.type === 'stopped') this.#bars.takeUpWaiting(plan);
    this.#bars.tell(plan);
  }

  /** A press on which time goes on; refused where it does not stand still. */
  endStandstill(heard: Frames): void {
    if (!this.#goOn(heard)) this.#refuse('end-standstill', 'not-standing-still');
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
    const pass = { number, replaces: passes.replacedBy(number) };
    for (const row of rows) mixer.addOwn(row, seam.curves, this.#standing(), pass);
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

  /** For the voices of passes: their positions count from the plan's origin. */
  #standing(): Standing {
    const plan = this.#plan;
    return { at: this.#with.output.rendered, origin: plan.type === 'running' ? plan.origin : null };
  }

  /** The first bar whose line can still be rendered. */
  #firstBar(plan: RunningPlan, grid: ProgramGrid): Bars {
    return lineNotBefore(frames(this.#earliest() - plan.origin), grid);
  }

  /** The first pass over a click makes its own line the first: that line has to come. */
  #goOnForTheFirst(heard: Frames, plan: Plan): void {
    if (plan.type !== 'running' || plan.passes.length > 0 || this.#with.mixer.hasVoices) return;
    this.#bars.goOnBefore(plan, (grid) => startingLine(plan, heard, grid));
  }

  #goOn(heard: Frames): boolean {
    const went = this.#bars.endStandstill(heard, this.#plan);
    if (went) this.#turnPage();
    return went;
  }

  #turnPage(): void {
    const plan = this.#plan;
    this.#pageAt = Infinity;
    if (plan.type !== 'running') return;
    this.#pageAt = plan.origin + this.#bars.pageFrames - PAGE_SECONDS * this.#with.rate;
  }

  #askForPage(): void {
    this.#pageAt = Infinity;
    if (this.#program === null) return;
    this.#with.report({ type: 'page-wanted', at: this.#with.output.rendered, revision: this.#program.revision });
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
