/** An audio thread without a browser: the globals a processor needs, and one processor run by hand, block by block. */
import { vi } from 'vitest';
import type { CountedPiece } from '../../src/protocol/counted.js';
import type { FromEngine, ProcessorSetup, ToEngine } from '../../src/protocol/wire.js';
import { PROCESSOR_NAME } from '../../src/protocol/wire.js';
import { sampleRate } from '../../src/core/units/index.js';

interface Processor {
  readonly port: FakePort;
  process(inputs: Float32Array[][], outputs: Float32Array[][]): boolean;
}

/** The processor's end of the port: what it posts is copied and kept. */
class FakePort {
  onmessage: ((event: { readonly data: ToEngine; readonly ports: readonly FakePiecePort[] }) => void) | null = null;
  readonly posted: FromEngine[] = [];

  postMessage(message: FromEngine, transfer: ArrayBuffer[]): void {
    this.posted.push(structuredClone(message, { transfer }));
  }
}

/** The audio thread's end of the port by which counted pieces come: what it posts is kept. */
export class FakePiecePort {
  onmessage: ((event: { readonly data: CountedPiece }) => void) | null = null;
  readonly posted: Float32Array[] = [];

  postMessage(buffer: Float32Array): void {
    this.posted.push(buffer);
  }
}

class FakeProcessor {
  readonly port = new FakePort();
}

type Message<Type extends FromEngine['type']> = Extract<FromEngine, { type: Type }>;

export class AudioThread {
  readonly #scope = globalThis as { currentFrame?: number };
  readonly #processor: Processor;
  /** What the system clock says, ms. */
  now = 1_000_000;

  constructor(processor: Processor) {
    this.#processor = processor;
    this.#scope.currentFrame = 0;
    vi.spyOn(Date, 'now').mockImplementation(() => this.now);
  }

  get posted(): readonly FromEngine[] {
    return this.#processor.port.posted;
  }

  all<Type extends FromEngine['type']>(type: Type): Message<Type>[] {
    return this.posted.filter((message): message is Message<Type> => message.type === type);
  }

  /** One call. The context's clock goes on by `frames`. */
  process(inputs: Float32Array[][], outputs: Float32Array[][], frames = 128): boolean {
    const goesOn = this.#processor.process(inputs, outputs);
    this.#scope.currentFrame = (this.#scope.currentFrame ?? 0) + frames;
    return goesOn;
  }

  send(message: ToEngine, ports: readonly FakePiecePort[] = []): void {
    this.#processor.port.onmessage?.({ data: message, ports });
  }

  command(command: Extract<ToEngine, { type: 'command' }>['command']): void {
    this.send({ type: 'command', command });
  }
}

/** Loads the real processor once a test file, and makes a new one of it. */
export async function audioThread(setup: Partial<ProcessorSetup> = {}): Promise<AudioThread> {
  let registered: (new (options: { readonly processorOptions: ProcessorSetup }) => Processor) | null = null;
  vi.stubGlobal('AudioWorkletProcessor', FakeProcessor);
  vi.stubGlobal('currentFrame', 0);
  vi.stubGlobal('registerProcessor', (name: string, processor: typeof registered) => {
    if (name === PROCESSOR_NAME) registered = processor;
  });
  vi.resetModules();
  await import('../../src/worklet/processor.js');
  const Registered = registered as (new (options: { readonly processorOptions: ProcessorSetup }) => Processor) | null;
  if (Registered === null) throw new Error(`Got no processor when expected one named ${PROCESSOR_NAME}.`);
  const processorOptions: ProcessorSetup = {
    sampleRate: sampleRate(48_000),
    inputChannels: 1,
    ringSeconds: 1,
    outputChannels: 2,
    baseLatencySeconds: 0.01,
    ...setup,
  };
  return new AudioThread(new Registered({ processorOptions }));
}
