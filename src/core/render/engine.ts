/**
 * The engine: a program and blocks of input to blocks of output. It runs on the audio thread, in Node and for rendering
 * alike; the worklet is a thin shell round it.
 *
 * Commands are handled between blocks and may allocate a little. `process` waits for nothing, never throws and
 * allocates nothing, except for the reports that it makes when a pass closes and when captured audio leaves.
 */
import type { Plan } from '../transport/plan.js';
import type { Frames, SampleRate } from '../units/index.js';
import { framesFromSeconds, seconds } from '../units/index.js';
import { AudioStore } from './audio-store.js';
import { ClickTrack } from './click.js';
import type { EngineCommand, EngineReport } from './commands.js';
import { Conductor } from './conductor.js';
import { Loading } from './loading.js';
import { Mixer } from './mixer.js';
import type { StereoBlock } from './output.js';
import { Output } from './output.js';
import { Passes } from './passes.js';
import { ChunkPool } from './pool.js';
import { Recorder } from './recorder.js';
import { InputRing } from './ring.js';
import { seamCurves } from './seam-curves.js';

export interface EngineSetup {
  readonly sampleRate: SampleRate;
  readonly inputChannels: number;
  /** Seconds of input that are held at least. */
  readonly ringSeconds: number;
}

export class Engine {
  readonly #report: (report: EngineReport) => void;
  readonly #ring: InputRing;
  readonly #recorder: Recorder;
  readonly #click: ClickTrack;
  readonly #output: Output;
  readonly #loading: Loading;
  readonly #conductor: Conductor;

  /** @param report called while a command is handled or, at closing lines and for captured audio, in `process`. */
  constructor(setup: EngineSetup, report: (report: EngineReport) => void) {
    const rate = setup.sampleRate;
    const pool = new ChunkPool();
    const store = new AudioStore(pool);
    const mixer = new Mixer(pool, store, rate);
    this.#report = report;
    this.#ring = new InputRing(setup.inputChannels, framesFromSeconds(seconds(setup.ringSeconds), rate));
    this.#recorder = new Recorder(this.#ring, store, report);
    this.#click = new ClickTrack(rate);
    this.#output = new Output(rate, mixer, this.#click);
    this.#loading = new Loading(pool, store, report);
    this.#conductor = new Conductor({
      rate,
      ring: this.#ring,
      recorder: this.#recorder,
      passes: new Passes(this.#recorder, rate, report),
      mixer,
      output: this.#output,
      seam: seamCurves(rate),
      report,
    });
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
    return this.#conductor.plan;
  }

  handle(command: EngineCommand): void {
    switch (command.type) {
      case 'use-program':
        this.#conductor.useProgram(command.program);
        this.#loading.want(command.program);
        break;
      case 'stand-by':
        this.#conductor.standBy(command.slot, command.program);
        this.#loading.want(command.program);
        break;
      case 'go':
        this.#conductor.go(command.slot, command.heard);
        break;
      case 'set-rules':
        this.#conductor.setRules(command.rules);
        break;
      case 'set-round-trip':
        this.#conductor.setRoundTrip(command.roundTrip);
        break;
      case 'set-click':
        this.#click.set(command.playing, command.gain, this.rendered);
        break;
      case 'press':
      case 'play':
      case 'stop':
      case 'take-back':
      case 'keep-that':
      case 'join':
        this.#conductor.player(command);
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
    this.#ring.write(input, count);
    this.#recorder.advance();
    this.#output.process(foldback, house, count);
    this.#conductor.afterBlock(count);
    this.#reportLate();
  }

  #reportLate(): void {
    const late = this.#output.takeLate();
    if (late > 0) this.#report({ type: 'fault', at: this.rendered, kind: 'late-chunk', count: late });
  }
}
