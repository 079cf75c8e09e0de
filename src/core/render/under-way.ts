/**
 * What is being recorded, and what came of it: carries out the effects of the transport on passes, on a loop without a
 * tempo and on the voices that play what has closed. Audio thread; runs while commands are handled, and once a block to
 * see whether something has been captured whole.
 */
import { PRESS_RULES } from '../meter/presses.js';
import type { ProgramGrid } from '../program/program-grid.js';
import type { Program } from '../program/program.js';
import type { Seam } from '../seam/seam.js';
import type { TransportEffect } from '../transport/events.js';
import type { Plan } from '../transport/plan.js';
import type { Bars, Frames, SampleRate } from '../units/index.js';
import { bars, frames } from '../units/index.js';
import type { EngineReport, PassRules, RefusedBecause, RoundTrip } from './commands.js';
import { CutShort } from './cut-short.js';
import { FreeTake } from './free-take.js';
import { Holds } from './holds.js';
import { KeptSoFar } from './kept-so-far.js';
import type { Mixer, Standing } from './mixer.js';
import type { Output } from './output.js';
import { Passes } from './passes.js';
import type { Recorder } from './recorder.js';
import type { InputRing } from './ring.js';
import { Tails } from './tails.js';

export interface RecordingPlayers {
  readonly rate: SampleRate;
  readonly ring: InputRing;
  readonly recorder: Recorder;
  readonly mixer: Mixer;
  readonly output: Output;
  readonly report: (report: EngineReport) => void;
}

/** As the conductor has them. */
export interface PlanInUse {
  grid(): ProgramGrid | null;
  plan(): Plan;
  refuse(why: RefusedBecause): void;
}

export class UnderWay {
  readonly #with: RecordingPlayers;
  readonly #inUse: PlanInUse;
  readonly passes: Passes;
  readonly #free: FreeTake;
  readonly #cuts: CutShort;
  readonly #tails: Tails;
  readonly #kept = new KeptSoFar();
  rules: PassRules = {
    bars: null,
    loopBars: null,
    presses: PRESS_RULES,
    countIn: bars(1),
    channels: [0],
    withoutTempo: false,
    keepLayering: false,
    replaces: null,
  };
  roundTrip: RoundTrip = { frames: frames(0), how: 'estimated', sure: false };
  /** What was heard when the player did what is being carried out. */
  heard: Frames = frames(0);
  #nextPass = 1;

  constructor(players: RecordingPlayers, inUse: PlanInUse) {
    const { recorder, rate, report } = players;
    const holds = new Holds(recorder);
    this.#with = players;
    this.#inUse = inUse;
    this.#cuts = new CutShort(recorder, holds, report);
    this.#tails = new Tails(players.ring, holds, rate);
    const recording = { recorder, holds, cuts: this.#cuts, tails: this.#tails, report };
    this.passes = new Passes(recording, rate);
    this.#free = new FreeTake(recording, rate);
  }

  /** Number for the next new pass. */
  get nextPass(): number {
    return this.#nextPass;
  }

  /** @param plan in which the passes of the effects are. */
  carryOut(effect: TransportEffect, plan: Plan): void {
    const { ring, recorder, output, report } = this.#with;
    const grid = this.#inUse.grid();
    switch (effect.type) {
      case 'begin':
        if (plan.type === 'running' && grid !== null) {
          this.#nextPass = Math.max(this.#nextPass, effect.pass.number + this.rules.channels.length);
          this.passes.begin(effect.pass, plan.origin, grid, this.rules, this.roundTrip);
          this.hush(effect.pass.number, plan.origin + grid.lineOf(effect.pass.startBar));
          if (effect.pass.endBar !== null) this.#close(effect.pass.number, effect.pass.endBar);
        }
        break;
      case 'close':
        this.#close(effect.number, effect.endBar);
        break;
      case 'cut':
        this.#silence(effect.number, this.passes.cut(effect.number, effect.at));
        break;
      case 'drop':
        this.#drop(effect.number);
        break;
      case 'begin-free':
        this.#free.begin(effect.at, this.rules.channels, this.roundTrip);
        break;
      case 'end-free':
        this.#free.end(effect.to);
        break;
      case 'cut-free':
        this.#free.cut(effect.at);
        break;
      case 'drop-free':
        this.#free.drop(ring.due, this.heard);
        break;
      case 'keep-bars':
        report({ type: 'bars-kept', at: output.rendered, pass: effect.number, leftOut: effect.leftOut });
        break;
      case 'keep-phrase':
        recorder.keepPast(this.rules.channels);
        break;
      case 'refuse':
        this.#inUse.refuse(effect.why);
        break;
      default:
        effect satisfies never;
    }
  }

  /** Something that playing has left behind may still be coming in: taken back, it goes before anything older does. */
  dropComingIn(): boolean {
    const { newest } = this.passes;
    if (this.#cuts.dropNewest(this.#with.ring.due, this.heard)) return true;
    if (newest !== null) this.#drop(newest);
    return newest !== null;
  }

  /** Playing starts. */
  startAnew(): void {
    this.#kept.startAnew();
  }

  /** A loop without a tempo plays, and a program names it. @param ends heard frame of the press that closed it. */
  letGoOfFree(ends: Frames | null): void {
    this.#free.letGo();
    if (ends !== null) this.#kept.add({ pass: 0, parts: 1, ends });
  }

  /** @returns the heard frame up to which passes that have come in are kept; null where none is. */
  keptUpTo(program: Program): Frames | null {
    return this.#kept.upTo(program);
  }

  /** @returns the number of a pass that has been captured whole; null if there is none. Call until it is null. */
  takeCaptured(): number | null {
    const { captured } = this.#with.ring;
    this.#cuts.takeCaptured(captured);
    this.#tails.advance(captured);
    const pass = this.passes.takeCaptured(captured);
    if (pass === null) return null;
    const { number, parts, ends } = pass;
    this.#kept.add({ pass: number, parts, ends });
    return number;
  }

  /** The page has heard how a voice's body opens, while its pass is still coming in. */
  setOpening(voice: number, opening: Seam): void {
    const { mixer, output } = this.#with;
    const own = this.passes.setOpening(voice, opening);
    if (own !== null) mixer.openOwn(own, output.rendered);
  }

  /** Names what would be played at once if what is being recorded were closed now: audio, channel and first frame. */
  nameBeginnings(name: (audio: number, channel: number, frame: number) => void): void {
    this.passes.nameBeginnings(name);
    this.#free.nameBeginning(name);
  }

  /** Another take: the layer that it is to replace is silent from the pass's line on. */
  hush(pass: number, line: number): void {
    const { replaces } = this.rules;
    if (replaces !== null) this.#with.mixer.hush(pass, replaces, Math.max(line, this.#with.output.rendered));
  }

  /** Where nothing plays any more, the pass is only finished: the program that holds its layer will play it. */
  #close(number: number, endBar: Bars): void {
    const grid = this.#inUse.grid();
    if (grid === null) return;
    const voices = this.passes.close(number, endBar, grid);
    if (this.#inUse.plan().type !== 'running') return;
    const pass = { number, replaces: this.passes.replacedBy(number) };
    for (const voice of voices) this.#with.mixer.addOwn(voice, this.#standing(), pass);
  }

  #drop(number: number): void {
    this.#silence(number, this.passes.drop(number, this.#with.ring.due, this.heard));
  }

  /** The voices that were to play a pass go, and what it was to replace comes back. */
  #silence(number: number, voices: readonly number[]): void {
    const { mixer, output } = this.#with;
    for (const voice of voices) mixer.dropOwn(voice, output.rendered);
    mixer.unhush(number, output.rendered);
  }

  /** For the voices of passes: their positions count from the plan's origin. */
  #standing(): Standing {
    const plan = this.#inUse.plan();
    return { at: this.#with.output.rendered, origin: plan.type === 'running' ? plan.origin : null };
  }
}
