/**
 * The audio thread's shell round the engine: hands it blocks and commands, and posts what it reports. It counts its own
 * frames (the engine's), because `currentFrame` goes stale while the page changes the graph.
 */
import type { EngineReport } from '../core/render/commands.js';
import { Engine } from '../core/render/engine.js';
import { ZeroRuns } from '../core/render/zero-runs.js';
import type { ClockReading, FaultCounts, FromEngine, ProcessorSetup, ToEngine } from '../protocol/wire.js';
import { PROCESSOR_NAME, transfersOfReport } from '../protocol/wire.js';
import { ClockWatch } from './clock-watch.js';
import { takeFrom } from './counted-port.js';
import { LoadWatch } from './load-watch.js';
import { PhaseWatch } from './phase-watch.js';

const NO_CHANNELS: readonly Float32Array[] = [];
/** Where neither an output nor an input says how long the block is: the usual length. */
const USUAL_BLOCK = 128;
/** Blocks between two readings: 21 ms at 48 kHz in blocks of 128. */
const READING_BLOCKS = 8;

type Changing<T> = { -readonly [Key in keyof T]: T[Key] };

class EngineProcessor extends AudioWorkletProcessor {
  readonly #engine: Engine;
  readonly #clock = new ClockWatch();
  readonly #load: LoadWatch;
  readonly #phase: PhaseWatch;
  readonly #zeros = new ZeroRuns();
  readonly #faults: Changing<FaultCounts> = { 'late-chunk': 0, 'frames-lost': 0, 'pool-full': 0, 'not-a-number': 0 };
  /** Posted again and again: what is posted is copied. */
  readonly #reading: Changing<ClockReading>;
  #blocks = 0;
  #open = true;
  #failed = false;

  constructor(options: { readonly processorOptions: ProcessorSetup }) {
    super();
    const setup = options.processorOptions;
    this.#load = new LoadWatch(setup.sampleRate, setup.baseLatencySeconds, () => Date.now());
    this.#phase = new PhaseWatch(setup.sampleRate, setup.baseLatencySeconds);
    this.#engine = new Engine(
      setup,
      (report) => {
        this.#pass(report);
      },
      (observation) => {
        this.#post({ type: 'observed', observation });
      },
    );
    this.#reading = {
      type: 'clock',
      rendered: 0,
      contextAhead: 0,
      peaks: this.#engine.readPeaks(),
      load: null,
      gaps: [],
      gapCount: 0,
      faults: this.#faults,
      captured: 0,
      zeros: [],
      phase: null,
    };
    this.port.onmessage = (event: MessageEvent<ToEngine>) => {
      this.#receive(event.data, event.ports);
    };
    this.#post({ type: 'ready', lookAhead: this.#engine.lookAhead });
  }

  process(inputs: Float32Array[][], outputs: Float32Array[][]): boolean {
    const channels = outputs[0] ?? NO_CHANNELS;
    if (!this.#open || this.#failed) {
      silence(channels);
      return this.#open;
    }
    const input = inputs[0] ?? NO_CHANNELS;
    const frame = this.#engine.rendered;
    const count = channels[0]?.length ?? input[0]?.length ?? USUAL_BLOCK;
    this.#phase.take(this.#load.begin(frame), frame);
    try {
      this.#engine.send(input, channels, count);
      this.#zeros.push(input, frame, count);
    } catch (error) {
      silence(channels);
      this.#fail(error);
    }
    this.#load.end(count);
    this.#clock.take(currentFrame, frame);
    this.#blocks++;
    if (this.#blocks % READING_BLOCKS === 0) this.#postReading(frame);
    return this.#open;
  }

  #postReading(frame: number): void {
    const reading = this.#reading;
    reading.rendered = frame;
    reading.contextAhead = this.#clock.contextAhead;
    reading.peaks = this.#engine.readPeaks();
    reading.load = this.#load.load;
    reading.gaps = this.#load.takeGaps();
    reading.gapCount = this.#load.gapCount;
    reading.captured = this.#engine.captured;
    reading.zeros = this.#zeros.take();
    reading.phase = this.#phase.takePhase();
    this.#post(reading);
  }

  #pass(report: EngineReport): void {
    if (report.type === 'fault') this.#faults[report.kind] += report.count;
    this.#post({ type: 'report', report }, transfersOfReport(report));
  }

  /** The one place where messages come in. */
  #receive(message: ToEngine, ports: readonly MessagePort[]): void {
    switch (message.type) {
      case 'command':
        try {
          this.#engine.handle(message.command);
        } catch (error) {
          this.#fail(error);
        }
        break;
      case 'use-counted':
        if (ports[0] !== undefined) {
          takeFrom(ports[0], this.#engine, (error) => {
            this.#fail(error);
          });
        }
        break;
      case 'close':
        this.#open = false;
        break;
      default:
        message satisfies never;
    }
  }

  /** An engine that threw is out of step with the page: silence, and say so once. */
  #fail(error: unknown): void {
    if (this.#failed) return;
    this.#failed = true;
    this.#post({ type: 'failed', message: error instanceof Error ? error.message : String(error) });
  }

  #post(message: FromEngine, transfer: ArrayBuffer[] = []): void {
    this.port.postMessage(message, transfer);
  }
}

/** Whatever a block that failed has left behind. */
function silence(channels: readonly Float32Array[]): void {
  for (let c = 0; c < channels.length; c++) channels[c]?.fill(0);
}

registerProcessor(PROCESSOR_NAME, EngineProcessor);
