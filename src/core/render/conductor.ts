/**
 * The conductor: what the player does, carried out. It holds the plan, asks the pure transport what follows, and tells
 * recorder, passes, mixer and output. Audio thread; runs while commands are handled, and once a block to see whether a
 * pass has been captured whole.
 */
import { isRepeatPress, lineForChange, lineNotBefore } from '../meter/presses.js';
import { ProgramGrid } from '../program/program-grid.js';
import type { Program } from '../program/program.js';
import type { Plan } from '../transport/plan.js';
import type { StepContext, TransportEffect, TransportEvent } from '../transport/step.js';
import { step, withoutPass } from '../transport/step.js';
import type { Bars, Frames, SampleRate } from '../units/index.js';
import { bars, frames, nearestFrame } from '../units/index.js';
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

  useProgram(program: Program): void {
    const { mixer, output } = this.#with;
    const grid = new ProgramGrid(program.stretches);
    if (this.#grid !== null) this.#keepPlace(this.#grid, grid);
    this.#keepRound(program);
    this.#program = program;
    this.#grid = grid;
    output.useGrid(grid);
    mixer.useProgram(program, this.#standing());
    this.#turnPage();
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
    const meant = lineForChange(frames(heard - plan.origin), this.#grid);
    const possible = lineNotBefore(frames(this.#earliest() - plan.origin), this.#grid);
    const line = frames(plan.origin + this.#grid.lineOf(bars(Math.max(meant, possible))));
    const grid = new ProgramGrid(program.stretches);
    this.#with.mixer.change(program, line);
    this.#with.output.change(grid, line);
    this.#program = program;
    this.#grid = grid;
    this.#setPlan({ ...plan, origin: line });
    this.#with.report({ type: 'section-changes', at: line, slot, late: possible > meant });
    this.#turnPage();
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
    if (event.type === 'take-back' && before.type === 'stopped' && this.#dropClosing()) return;
    const { plan, effects } = step(before, event, this.#context(this.#grid, this.#program));
    this.#setPlan(plan);
    if (plan.type === 'running' && before.type !== 'running') {
      if (before.type === 'free') this.#free.letGo();
      this.#with.output.start(plan.startsAt, plan.origin, event.type === 'join' ? 'under-way' : 'from-the-top');
      this.#turnPage();
    }
    if (plan.type === 'stopped' && before.type === 'running') this.#with.output.stop(plan.at);
    if (plan.type === 'running' && before.type === 'running' && plan.origin !== before.origin) {
      this.#with.output.moveOrigin(plan.origin);
    }
    for (const effect of effects) this.#carryOut(effect, event.type, plan.type === 'running' ? plan : before);
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
    const { passes, mixer, output, ring, recorder } = this.#with;
    switch (effect.type) {
      case 'begin':
        if (plan.type === 'running' && this.#grid !== null) {
          this.#nextPass = Math.max(this.#nextPass, effect.pass.number + this.#rules.channels.length);
          passes.begin(effect.pass, plan.origin, this.#grid, this.#rules, this.#roundTrip);
          this.#hush(plan.origin + this.#grid.lineOf(effect.pass.startBar));
          if (effect.pass.endBar !== null) this.#close(effect.pass.number, effect.pass.endBar);
        }
        break;
      case 'close':
        this.#close(effect.number, effect.endBar);
        break;
      case 'drop':
        for (const voice of passes.drop(effect.number, ring.captured)) mixer.dropOwn(voice, output.rendered);
        if (!passes.areOpen) mixer.unhush(output.rendered);
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
    for (const row of rows) mixer.addOwn(row, seam.curves, this.#standing());
  }

  /** After a stop a pass may still be coming in: taken back, it goes before anything older does. */
  #dropClosing(): boolean {
    const { passes, ring } = this.#with;
    const newest = passes.newest;
    if (newest === null) return false;
    passes.drop(newest, ring.captured);
    return true;
  }

  /** Another take: the layer that it is to replace is silent from the pass's line on. */
  #hush(line: number): void {
    const { replaces } = this.#rules;
    if (replaces !== null) this.#with.mixer.hush(replaces, Math.max(line, this.#with.output.rendered));
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
      leadFrames: program.leadFrames,
      nextPass: this.#nextPass,
    };
  }

  #earliest(): Frames {
    const { output } = this.#with;
    return frames(Math.max(output.rendered + 2 * this.#blockFrames, output.silentFrom));
  }

  #standing(): Standing {
    const plan = this.#plan;
    return { at: this.#with.output.rendered, origin: plan.type === 'running' ? plan.origin : null };
  }

  /** The click alone is playing and its tempo or metre changes: it goes on from the same part of the same bar. */
  #keepPlace(before: ProgramGrid, after: ProgramGrid): void {
    const plan = this.#plan;
    const { output, mixer } = this.#with;
    if (plan.type !== 'running' || plan.passes.length > 0 || mixer.hasVoices) return;
    const position = output.rendered - plan.origin;
    const bar = before.barAt(position);
    const part = (position - before.lineAt(bar)) / before.barFrames(bar);
    const there = nearestFrame(after.lineAt(bar) + part * after.barFrames(bar));
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
    const ends = this.#program?.pageFrames ?? Infinity;
    const plan = this.#plan;
    this.#pageAt = plan.type === 'running' ? plan.origin + ends - PAGE_SECONDS * this.#with.rate : Infinity;
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
