/**
 * The audio thread's shell round the engine: hands it blocks and commands, and posts what it reports. It counts its own
 * frames (the engine's), because `currentFrame` goes stale while the page changes the graph.
 */
import { Engine } from '../core/render/engine.js';
import type { StereoBlock } from '../core/render/output.js';
import type { FromEngine, ProcessorSetup, ToEngine } from '../protocol/wire.js';
import { PROCESSOR_NAME, transfersOfReport } from '../protocol/wire.js';
import { ClockWatch } from './clock-watch.js';

const NO_INPUT: readonly Float32Array[] = [];

class EngineProcessor extends AudioWorkletProcessor {
  readonly #engine: Engine;
  readonly #clock = new ClockWatch();
  #open = true;
  #failed = false;

  constructor(options: { readonly processorOptions: ProcessorSetup }) {
    super();
    this.#engine = new Engine(options.processorOptions, (report) => {
      this.#post({ type: 'report', report }, transfersOfReport(report));
    });
    this.port.onmessage = (event: MessageEvent<ToEngine>) => {
      this.#receive(event.data);
    };
    this.#post({ type: 'ready', lookAhead: this.#engine.lookAhead });
  }

  process(inputs: Float32Array[][], outputs: Float32Array[][]): boolean {
    const foldback = outputs[0];
    if (!isStereo(foldback) || this.#failed) return this.#open;
    const house = outputs[1];
    const input = inputs[0] ?? NO_INPUT;
    const frame = this.#engine.rendered;
    try {
      this.#engine.process(input, foldback, isStereo(house) ? house : null, foldback[0].length);
    } catch (error) {
      this.#fail(error);
    }
    const reading = this.#clock.read(currentFrame, frame, input);
    if (reading !== null) this.#post(reading);
    return this.#open;
  }

  /** The one place where messages come in. */
  #receive(message: ToEngine): void {
    switch (message.type) {
      case 'command':
        try {
          this.#engine.handle(message.command);
        } catch (error) {
          this.#fail(error);
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

function isStereo(block: Float32Array[] | undefined): block is Float32Array[] & StereoBlock {
  return block !== undefined && block.length >= 2;
}

registerProcessor(PROCESSOR_NAME, EngineProcessor);
