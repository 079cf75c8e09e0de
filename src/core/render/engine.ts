/**
 * The engine: a program and blocks of input to blocks of output. It runs on the audio thread, in Node and for rendering
 * alike; the worklet is a thin shell round it.
 *
 * Commands are handled between blocks and may allocate a little. `process` waits for nothing, never throws and
 * allocates nothing, except for the reports that it makes when a pass closes and when captured audio leaves.
 */
import { ProgramGrid } from '../program/program-grid.js';
import type { Program } from '../program/program.js';
import { crossfadeTables } from '../seam/crossfade.js';
import { isRepeatPress } from '../meter/presses.js';
import type { Plan } from '../transport/plan.js';
import type { TransportEffect, TransportEvent } from '../transport/step.js';
import { step } from '../transport/step.js';
import type { Bars, Frames, SampleRate } from '../units/index.js';
import { bars, frames, framesFromSeconds, nearestFrame, seconds } from '../units/index.js';
import { AudioStore } from './audio-store.js';
import { ClickTrack } from './click.js';
import type { EngineCommand, EngineReport, PassRules, RoundTrip } from './commands.js';
import { Loading } from './loading.js';
import type { Standing } from './mixer.js';
import { Mixer } from './mixer.js';
import type { StereoBlock } from './output.js';
import { Output } from './output.js';
import { Passes } from './passes.js';
import { ChunkPool } from './pool.js';
import { Recorder } from './recorder.js';
import { InputRing } from './ring.js';

export interface EngineSetup {
  readonly sampleRate: SampleRate;
  readonly inputChannels: number;
  /** Seconds of input that are held at least. */
  readonly ringSeconds: number;
}

const SEAM_SECONDS = 0.01;

export class Engine {
  readonly #report: (report: EngineReport) => void;
  readonly #rate: SampleRate;
  readonly #ring: InputRing;
  readonly #recorder: Recorder;
  readonly #passes: Passes;
  readonly #mixer: Mixer;
  readonly #click: ClickTrack;
  readonly #output: Output;
  readonly #loading: Loading;
  readonly #seamFrames: number;
  readonly #seamCurves: Float32Array;

  #blockFrames = 128;
  #program: Program | null = null;
  #grid: ProgramGrid | null = null;
  #plan: Plan = { type: 'stopped', at: frames(0) };
  #rules: PassRules = { bars: null, countIn: bars(1), channel: 0 };
  #roundTrip: RoundTrip = { frames: frames(0), how: 'estimated', sure: false };
  #nextPass = 1;
  #lastPress: Frames | null = null;

  /** @param report called while a command is handled or, at closing lines and for captured audio, in `process`. */
  constructor(setup: EngineSetup, report: (report: EngineReport) => void) {
    const rate = setup.sampleRate;
    const pool = new ChunkPool();
    const store = new AudioStore(pool);
    this.#report = report;
    this.#rate = rate;
    this.#ring = new InputRing(setup.inputChannels, framesFromSeconds(seconds(setup.ringSeconds), rate));
    this.#recorder = new Recorder(this.#ring, store, report);
    this.#passes = new Passes(this.#recorder, rate, report);
    this.#mixer = new Mixer(pool, store, rate);
    this.#click = new ClickTrack(rate);
    this.#output = new Output(rate, this.#mixer, this.#click);
    this.#loading = new Loading(pool, store, report);
    this.#seamFrames = Math.round(SEAM_SECONDS * rate);
    const { fadeIn, fadeOut } = crossfadeTables(frames(this.#seamFrames), 0);
    this.#seamCurves = new Float32Array([...fadeIn, ...fadeOut]);
    this.#loading.askForMemory();
  }

  /** Engine frame after the newest that was rendered. */
  get rendered(): Frames {
    return this.#output.rendered;
  }

  /** Frames by which the output lies behind the mix. */
  get lookAhead(): Frames {
    return this.#output.lookAhead;
  }

  get plan(): Plan {
    return this.#plan;
  }

  handle(command: EngineCommand): void {
    switch (command.type) {
      case 'use-program':
        this.#useProgram(command.program);
        break;
      case 'set-rules':
        this.#rules = command.rules;
        break;
      case 'set-round-trip':
        this.#roundTrip = command.roundTrip;
        break;
      case 'set-click':
        this.#click.set(command.playing, command.gain, this.rendered);
        break;
      case 'press':
      case 'play':
      case 'stop':
      case 'take-back':
        this.#player(command);
        break;
      case 'supply':
        this.#loading.supply(command.audio, command.channel, command.chunk, command.samples);
        break;
      case 'supply-slab':
        this.#loading.supplySlab(command.slab);
        break;
      case 'return-buffer':
        this.#recorder.giveBack(command.buffer);
        break;
      default:
        command satisfies never;
    }
    this.#loading.askForMemory();
    const ready = this.#loading.takeReady();
    if (ready !== null) this.#report({ type: 'program-ready', at: this.rendered, revision: ready });
  }

  /**
   * Renders one block.
   * @param input one array a channel; missing channels are silence.
   * @param house the music alone; null where nothing is connected to it.
   */
  process(input: readonly Float32Array[], foldback: StereoBlock, house: StereoBlock | null, count: number): void {
    this.#blockFrames = count;
    this.#ring.write(input, count);
    this.#recorder.advance();
    this.#output.process(foldback, house, count);
    this.#closeCaptured();
    const late = this.#output.takeLate();
    if (late > 0) this.#report({ type: 'fault', at: this.rendered, kind: 'late-chunk', count: late });
  }

  #useProgram(program: Program): void {
    const grid = new ProgramGrid(program.stretches);
    if (this.#grid !== null) this.#keepPlace(this.#grid, grid);
    this.#program = program;
    this.#grid = grid;
    this.#output.useGrid(grid);
    this.#mixer.useProgram(program, this.#standing());
    this.#loading.want(program);
  }

  /** The click alone is playing and its tempo or metre changes: it goes on from the same part of the same bar. */
  #keepPlace(before: ProgramGrid, after: ProgramGrid): void {
    const plan = this.#plan;
    if (plan.type === 'stopped' || plan.passes.length > 0 || this.#mixer.hasVoices) return;
    const position = this.rendered - plan.origin;
    const bar = before.barAt(position);
    const part = (position - before.lineAt(bar)) / before.barFrames(bar);
    const there = nearestFrame(after.lineAt(bar) + part * after.barFrames(bar));
    if (there === position) return;
    const origin = frames(this.rendered - there);
    this.#setPlan({ ...plan, origin });
    this.#output.moveOrigin(origin);
  }

  #player(event: TransportEvent): void {
    if (event.type === 'press') {
      if (isRepeatPress(this.#lastPress, event.heard, this.#rate)) {
        return this.#refuse(event.type, 'pressed-again-too-soon');
      }
      this.#lastPress = event.heard;
    }
    if (this.#grid === null || this.#program === null) return this.#refuse(event.type, 'no-program');
    const { plan, effects } = step(this.#plan, event, {
      grid: this.#grid,
      earliest: frames(Math.max(this.rendered + 2 * this.#blockFrames, this.#output.silentFrom)),
      hasLayers: this.#mixer.hasVoices,
      passBars: this.#rules.bars,
      countIn: this.#rules.countIn,
      leadFrames: this.#program.leadFrames,
      nextPass: this.#nextPass,
    });
    const before = this.#plan;
    this.#setPlan(plan);
    if (plan.type === 'running' && before.type === 'stopped') this.#output.start(plan.startsAt, plan.origin);
    if (plan.type === 'stopped' && before.type === 'running') this.#output.stop(plan.at);
    for (const effect of effects) this.#carryOut(effect, event.type, plan, before);
  }

  #carryOut(effect: TransportEffect, command: TransportEvent['type'], plan: Plan, before: Plan): void {
    const running = plan.type === 'running' ? plan : before;
    if (this.#grid === null || running.type === 'stopped') {
      if (effect.type === 'refuse') this.#refuse(command, effect.why);
      return;
    }
    switch (effect.type) {
      case 'begin':
        this.#nextPass = Math.max(this.#nextPass, effect.pass.number + 1);
        this.#passes.begin(effect.pass, running.origin, this.#grid, this.#rules.channel, this.#roundTrip);
        if (effect.pass.endBar !== null) this.#close(effect.pass.number, effect.pass.endBar, this.#grid);
        break;
      case 'close':
        this.#close(effect.number, effect.endBar, this.#grid);
        break;
      case 'drop':
        this.#passes.drop(effect.number, this.#ring.captured);
        this.#mixer.dropOwn(effect.number, this.rendered);
        break;
      case 'refuse':
        this.#refuse(command, effect.why);
        break;
      default:
        effect satisfies never;
    }
  }

  #close(number: number, endBar: Bars, grid: ProgramGrid): void {
    const row = this.#passes.close(number, endBar, grid, this.#seamFrames);
    if (row !== null) this.#mixer.addOwn(row, this.#seamCurves, this.#standing());
  }

  #closeCaptured(): void {
    let number = this.#passes.takeCaptured(this.#ring.captured);
    while (number !== null) {
      this.#forget(number);
      number = this.#passes.takeCaptured(this.#ring.captured);
    }
  }

  #forget(number: number): void {
    if (this.#plan.type === 'stopped') return;
    this.#setPlan({ ...this.#plan, passes: this.#plan.passes.filter((pass) => pass.number !== number) });
  }

  #setPlan(plan: Plan): void {
    if (plan === this.#plan) return;
    this.#plan = plan;
    this.#report({ type: 'plan-changed', at: this.rendered, plan });
  }

  #standing(): Standing {
    return { at: this.rendered, origin: this.#plan.type === 'running' ? this.#plan.origin : null };
  }

  #refuse(command: EngineCommand['type'], why: Extract<EngineReport, { type: 'refused' }>['why']): void {
    this.#report({ type: 'refused', at: this.rendered, command, why });
  }
}
