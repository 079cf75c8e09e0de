/**
 * The engine: a program and blocks of input to blocks of output. It runs on the audio thread, in Node and for rendering
 * alike; the worklet is a thin shell round it.
 *
 * Commands are handled between blocks and may allocate a little. `process` waits for nothing, never throws and
 * allocates nothing, except for the reports that it makes: when a pass closes, when captured audio leaves, and when
 * audio or memory is wanted.
 */
import type { Plan } from '../transport/plan.js';
import type { Frames, SampleRate } from '../units/index.js';
import { framesFromSeconds, seconds } from '../units/index.js';
import { AudioStore } from './audio-store.js';
import { Buses } from './buses.js';
import { ClickTrack } from './click.js';
import type { EngineCommand, EngineReport, RefusedBecause } from './commands.js';
import { Conductor } from './conductor.js';
import { silenceDamage } from './damage.js';
import { FaultReports } from './fault-reports.js';
import { Intake } from './intake.js';
import { Loading } from './loading.js';
import type { Peaks } from './meters.js';
import { Mixer } from './mixer.js';
import type { EngineObservation } from './observations.js';
import { Output } from './output.js';
import { ChunkPool } from './pool.js';
import { Probe } from './probe.js';
import { Recorder } from './recorder.js';
import { InputRing } from './ring.js';
import type { Routing } from './routing.js';
import { channelsOf, Router } from './routing.js';
import type { StereoBlock } from './stereo.js';

export interface EngineSetup {
  readonly sampleRate: SampleRate;
  readonly inputChannels: number;
  /** Seconds of input that are held at least. */
  readonly ringSeconds: number;
  /** Channels of the device that `send` feeds; 2 where it is not said. */
  readonly outputChannels?: number;
  /** The most memory that audio may take, in whole slabs of 8 MB; 512 MB where it is not said. */
  readonly poolBytes?: number;
}

/** A fault that every block may have is told of once a second. */
const LATE_PAUSE_SECONDS = 1;

export class Engine {
  readonly #report: (report: EngineReport) => void;
  readonly #ring: InputRing;
  readonly #intake: Intake;
  readonly #recorder: Recorder;
  readonly #click: ClickTrack;
  readonly #buses: Buses;
  readonly #router: Router;
  readonly #probe: Probe;
  readonly #output: Output;
  readonly #outputChannels: number;
  readonly #lateChunks: FaultReports;
  readonly #damage: FaultReports;
  readonly #loading: Loading;
  readonly #conductor: Conductor;
  #damagedBefore = 0;

  /**
   * @param report called while a command is handled or, at closing lines and for captured audio, in `process`.
   * @param observe called in `process`, now and then.
   */
  constructor(
    setup: EngineSetup,
    report: (report: EngineReport) => void,
    observe: (observation: EngineObservation) => void = () => undefined,
  ) {
    const rate = setup.sampleRate;
    const pool = new ChunkPool(setup.poolBytes);
    const store = new AudioStore(pool);
    const mixer = new Mixer(pool, store, rate);
    this.#report = report;
    this.#ring = new InputRing(setup.inputChannels, framesFromSeconds(seconds(setup.ringSeconds), rate));
    this.#intake = new Intake(this.#ring, rate, observe);
    this.#recorder = new Recorder(this.#ring, store, report);
    this.#click = new ClickTrack(rate);
    this.#buses = new Buses(rate, setup.inputChannels);
    this.#router = new Router(rate);
    this.#probe = new Probe(this.#ring, report);
    this.#output = new Output(rate, {
      mixer,
      click: this.#click,
      buses: this.#buses,
      router: this.#router,
      probe: this.#probe,
    });
    this.#outputChannels = setup.outputChannels ?? 2;
    this.#lateChunks = new FaultReports('late-chunk', rate, report, LATE_PAUSE_SECONDS);
    this.#damage = new FaultReports('not-a-number', rate, report);
    this.#conductor = new Conductor({
      rate,
      ring: this.#ring,
      recorder: this.#recorder,
      mixer,
      output: this.#output,
      report,
    });
    this.#loading = new Loading({
      pool,
      store,
      voices: mixer,
      playing: this.#output,
      beginnings: this.#conductor,
      rate,
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

  /** Capture frame after the newest that is here: the engine's own, or behind it where frames are still on their way. */
  get captured(): number {
    return this.#ring.captured;
  }

  get plan(): Plan {
    return this.#conductor.plan;
  }

  /** From now on `takeCounted` brings what is recorded; the input of the blocks is only monitored. Before any pass. */
  useCounted(): void {
    this.#intake.useCounted();
  }

  /**
   * Frames of the input that were counted where they were captured; between blocks, in order.
   * @param frame the first, as counted. Where some were left out, silence is recorded for them.
   */
  takeCounted(input: readonly Float32Array[], frame: number, count: number): void {
    this.#damagedBefore += silenceDamage(input, count);
    const missed = this.#intake.takeCounted(input, frame, count, this.rendered);
    if (missed > 0) this.#report({ type: 'fault', at: this.rendered, kind: 'frames-lost', count: missed });
  }

  handle(command: EngineCommand): void {
    switch (command.type) {
      case 'use-program':
        this.#conductor.useProgram(command.program);
        this.#loading.useProgram(command.program);
        this.#loading.lookAnew(this.rendered);
        break;
      case 'stand-by':
        if (this.#conductor.standBy(command.slot, command.program)) {
          this.#loading.standBy(command.slot, command.program);
          this.#loading.lookAnew(this.rendered);
        }
        break;
      case 'go':
        this.#conductor.go(command.slot, command.heard);
        this.#loading.lookAnew(this.rendered);
        break;
      case 'set-rules':
        this.#conductor.setRules(command.rules);
        this.#buses.monitor.useChannels(command.rules.channels, this.rendered);
        break;
      case 'set-round-trip':
        this.#conductor.setRoundTrip(command.roundTrip);
        this.#buses.monitor.setRoundTrip(command.roundTrip.frames);
        break;
      case 'set-opening':
        this.#conductor.setOpening(command.voice, command.opening);
        break;
      case 'set-click':
        this.#click.set(command.playing, command.gain, this.rendered);
        break;
      case 'set-level':
        this.#buses.setLevel(command.bus, command.gain, this.rendered);
        break;
      case 'set-monitor':
        this.#buses.monitor.set(command.on, command.gain, this.rendered);
        break;
      case 'set-routing':
        this.#setRouting(command.routing);
        break;
      case 'send-probe':
        this.#sendProbe(command.samples, command.heard);
        break;
      case 'drop-probe':
        this.#probe.drop(this.rendered);
        break;
      case 'set-reference':
        this.#output.reference.use(command.samples, command.turns);
        break;
      case 'press':
      case 'play':
      case 'stop':
      case 'take-back':
      case 'keep-that':
      case 'join':
        this.#conductor.player(command);
        this.#loading.lookAnew(this.rendered);
        break;
      case 'end-standstill':
        this.#conductor.endStandstill(command.heard);
        this.#loading.lookAnew(this.rendered);
        break;
      case 'supply':
        this.#loading.supply(command.audio, command.channel, command.chunk, command.samples);
        break;
      case 'supply-slab':
        this.#loading.supplySlab(command.slab);
        break;
      case 'audio-stored':
        this.#loading.settle(command.audio, command.frames);
        break;
      case 'return-buffer':
        this.#recorder.giveBack(command.buffer);
        break;
      default:
        command satisfies never;
    }
  }

  /**
   * Renders one block of both buses, as for a file: not routed, and loud starts left as they are.
   * @param input one array a channel; missing channels are silence. What in it is no finite number becomes silence.
   * @param house the music alone; null where nobody wants it.
   */
  process(input: readonly Float32Array[], foldback: StereoBlock, house: StereoBlock | null, count: number): void {
    const damaged = this.#takeIn(input, count);
    this.#output.process(input, foldback, house, count);
    this.#afterBlock(count, damaged);
  }

  /** As `process`, but to the channels of a device, one array each, by the routing that was set. */
  send(input: readonly Float32Array[], channels: readonly Float32Array[], count: number): void {
    const damaged = this.#takeIn(input, count);
    this.#output.send(input, channels, count);
    this.#afterBlock(count, damaged);
  }

  /** Peaks since the last call: always the same object, filled anew. */
  readPeaks(): Peaks {
    return this.#buses.meters.read();
  }

  #takeIn(input: readonly Float32Array[], count: number): number {
    const own = silenceDamage(input, count);
    const damaged = this.#intake.isCounted ? this.#damagedBefore : own;
    this.#damagedBefore = 0;
    this.#buses.meters.takeInput(input, count);
    this.#intake.takeOwn(input, this.rendered, count);
    this.#recorder.advance();
    this.#loading.advance(this.rendered, count);
    return damaged;
  }

  #afterBlock(count: number, damaged: number): void {
    this.#conductor.afterBlock(count);
    if (this.#output.isPlaying) this.#probe.drop(this.rendered);
    this.#probe.advance();
    this.#lateChunks.take(this.#output.takeLate(), this.rendered);
    this.#damage.take(damaged + this.#buses.takeDamaged(), this.rendered);
    if (this.#buses.monitor.takeHowled()) this.#report({ type: 'monitor-muted', at: this.rendered, why: 'howl' });
  }

  #sendProbe(samples: Float32Array, heard: Float32Array<ArrayBuffer>): void {
    const why = this.#whyNoProbe() ?? this.#probe.send(samples, heard, this.rendered);
    if (why !== null) this.#report({ type: 'refused', at: this.rendered, command: 'send-probe', why });
  }

  #whyNoProbe(): RefusedBecause | null {
    if (this.plan.type !== 'stopped' || this.#output.silentFrom > this.rendered) return 'still-playing';
    return this.#buses.monitor.isOn ? 'monitor-is-on' : null;
  }

  #setRouting(routing: Routing): void {
    if (channelsOf(routing) > this.#outputChannels) {
      this.#report({ type: 'refused', at: this.rendered, command: 'set-routing', why: 'too-few-outputs' });
      return;
    }
    this.#router.set(routing, this.rendered);
    this.#buses.expectStart();
  }
}
