/**
 * Sound on the page's side: the context, the input, the engine's node and the press clock. Everything the audio thread
 * sends comes in at one place, and everything it is sent goes out at one.
 */
import { SLAB_FRAMES } from '../core/render/pool.js';
import { DEVICE_CHANNELS } from '../core/render/routing.js';
import type { EngineCommand, EngineReport } from '../core/render/commands.js';
import type { Peaks } from '../core/render/meters.js';
import type { Result } from '../core/result/result.js';
import { failure, success } from '../core/result/result.js';
import type { Frames, Milliseconds } from '../core/units/index.js';
import { frames, nearestFrame, seconds } from '../core/units/index.js';
import type {
  Sound,
  SoundInterruption,
  SoundListener,
  SoundOpened,
  SoundRefusal,
  SoundRequest,
} from '../ports/sound.js';
import type { FromEngine, ProcessorSetup, ToEngine } from '../protocol/wire.js';
import { PROCESSOR_NAME, transfersOfCommand } from '../protocol/wire.js';
import type { OpenedInput } from './input.js';
import { openInput } from './input.js';
import { PeaksSince } from './peaks-since.js';
import { PressClock } from './press-clock.js';

/**
 * Seconds of output buffer asked for. A long one: the round trip then stands still under stalls of the machine, at the
 * price of 0.3 s between a decision and its sound, which the engine knows of.
 */
const STEADY_LATENCY_HINT = 0.1;
/** Input that stays within reach: presses in the past, and what storage has not yet taken. */
const RING_SECONDS = 60;
/** Clock readings to wait for the browser's output latency, which is 0 at first: half a second. */
const LATENCY_READINGS = 24;

interface OpenSound {
  readonly context: AudioContext;
  readonly input: OpenedInput;
  readonly node: AudioWorkletNode;
  readonly clock: PressClock;
  readonly opened: SoundOpened;
}

export class AudioSound implements Sound {
  readonly #processorUrl: string;
  #listener: SoundListener | null = null;
  #open: OpenSound | null = null;
  #opening: Promise<Result<SoundOpened, SoundRefusal>> | null = null;
  readonly #peaks = new PeaksSince();

  /** @param processorUrl of the bundled processor. */
  constructor(processorUrl: string) {
    this.#processorUrl = processorUrl;
  }

  listen(listener: SoundListener): void {
    this.#listener = listener;
  }

  open(request: SoundRequest): Promise<Result<SoundOpened, SoundRefusal>> {
    if (this.#open !== null) return Promise.resolve(success(this.#open.opened));
    this.#opening ??= this.#openNow(request).finally(() => {
      this.#opening = null;
    });
    return this.#opening;
  }

  send(command: EngineCommand): void {
    if (this.#open !== null) post(this.#open.node, { type: 'command', command }, transfersOfCommand(command));
  }

  heardAt(timeStamp: Milliseconds): Frames {
    const open = this.#open;
    if (open === null) return frames(0);
    this.#readClock(open);
    return frames(open.clock.heardAt(timeStamp));
  }

  inputPeak(): number | null {
    return this.#open === null ? null : this.#peaks.takeInput();
  }

  peaks(): Peaks | null {
    return this.#open === null ? null : this.#peaks.take();
  }

  async close(): Promise<void> {
    const open = this.#open;
    if (open === null) return;
    this.#open = null;
    post(open.node, { type: 'close' }, []);
    for (const track of open.input.stream.getTracks()) track.stop();
    await open.context.close();
  }

  async #openNow(request: SoundRequest): Promise<Result<SoundOpened, SoundRefusal>> {
    const context = contextAt(request.sampleRate);
    if (!context.ok) return context;
    const input = await openInput();
    if (!input.ok) {
      await context.value.close();
      return input;
    }
    const opened = await this.#start(context.value, input.value, request);
    if (!opened.ok) {
      for (const track of input.value.stream.getTracks()) track.stop();
      await context.value.close();
    }
    return opened;
  }

  async #start(
    context: AudioContext,
    input: OpenedInput,
    request: SoundRequest,
  ): Promise<Result<SoundOpened, SoundRefusal>> {
    const clock = new PressClock(request.sampleRate);
    try {
      await context.resume();
      await context.audioWorklet.addModule(this.#processorUrl);
    } catch {
      return failure('engine-failed');
    }
    const source = sourceOf(context, input.stream);
    if (source === null) return failure('rate-refused');
    const outputs = spreadOutput(context.destination);
    const node = engineNode(context, request, input, outputs);
    const lookAhead = this.#receive(context, node, clock);
    source.connect(node);
    node.connect(context.destination);
    const latency = await lookAhead;
    if (latency === null) return failure('engine-failed');
    const opened: SoundOpened = {
      inputName: input.name,
      inputChannels: input.channels,
      outputChannels: outputs,
      sampleRate: request.sampleRate,
      estimatedRoundTrip: estimateOf(context, input, latency),
      heldSeconds: seconds(RING_SECONDS),
      lookAhead: latency,
      processing: input.processing,
    };
    this.#watch(context, input);
    this.#open = { context, input, node, clock, opened };
    return success(opened);
  }

  /**
   * The one place where the audio thread's messages come in.
   * @returns the look-ahead, when the engine stands and the browser knows its output latency; null if it failed.
   */
  #receive(context: AudioContext, node: AudioWorkletNode, clock: PressClock): Promise<Frames | null> {
    return new Promise((resolve) => {
      let readings = 0;
      let lookAhead = frames(0);
      node.onprocessorerror = () => {
        resolve(null);
        this.#interrupted('engine-stopped');
      };
      node.port.onmessage = (event: MessageEvent<FromEngine>) => {
        const message = event.data;
        switch (message.type) {
          case 'ready':
            lookAhead = frames(message.lookAhead);
            clock.setLookAhead(lookAhead);
            break;
          case 'clock':
            clock.setContextAhead(message.contextAhead);
            this.#peaks.add(message.peaks);
            readings++;
            if (context.outputLatency > 0 || readings >= LATENCY_READINGS) resolve(lookAhead);
            break;
          case 'report':
            this.#onReport(node, message.report);
            break;
          case 'failed':
            resolve(null);
            this.#interrupted('engine-stopped');
            break;
          default:
            message satisfies never;
        }
      };
    });
  }

  #onReport(node: AudioWorkletNode, report: EngineReport): void {
    if (report.type === 'slab-wanted') {
      const slab = new Float32Array(SLAB_FRAMES);
      // Written here so that the audio thread is never the first to touch it.
      slab.fill(0);
      post(node, { type: 'command', command: { type: 'supply-slab', slab } }, [slab.buffer]);
      return;
    }
    this.#listener?.report(report);
    if (report.type === 'captured') {
      const { buffer } = report;
      post(node, { type: 'command', command: { type: 'return-buffer', buffer } }, [buffer.buffer]);
    }
  }

  #readClock({ context, clock }: OpenSound): void {
    const { contextTime, performanceTime } = context.getOutputTimestamp();
    if (contextTime !== undefined && performanceTime !== undefined && performanceTime > 0) {
      clock.read({ contextSeconds: contextTime, performanceMs: performanceTime });
      return;
    }
    // Where the browser answers nothing yet: what is being rendered, less the output latency.
    clock.read({
      contextSeconds: context.currentTime - context.outputLatency,
      performanceMs: performance.now(),
    });
  }

  #watch(context: AudioContext, input: OpenedInput): void {
    input.track.addEventListener('ended', () => {
      this.#interrupted('input-ended');
    });
    context.addEventListener('statechange', () => {
      if (context.state !== 'running' && this.#open !== null) this.#interrupted('output-interrupted');
    });
  }

  #interrupted(why: SoundInterruption): void {
    this.#listener?.interrupted(why);
  }
}

/** The one place where messages go out. */
function post(node: AudioWorkletNode, message: ToEngine, transfer: ArrayBuffer[]): void {
  node.port.postMessage(message, transfer);
}

function contextAt(sampleRate: number): Result<AudioContext, SoundRefusal> {
  if (typeof AudioContext === 'undefined') return failure('no-audio');
  if (typeof AudioWorkletNode === 'undefined') return failure(isSecureContext ? 'no-worklets' : 'not-secure');
  try {
    return success(new AudioContext({ sampleRate, latencyHint: STEADY_LATENCY_HINT }));
  } catch {
    return failure('rate-refused');
  }
}

/** Null where the browser cannot bring the input to the context's rate. */
function sourceOf(context: AudioContext, stream: MediaStream): AudioNode | null {
  try {
    return context.createMediaStreamSource(stream);
  } catch {
    return null;
  }
}

/**
 * Two pairs where the device has four channels: they leave by one output of the node, so no frame can come between them.
 * @returns the channels of that output.
 */
function spreadOutput(destination: AudioDestinationNode): number {
  if (destination.maxChannelCount < DEVICE_CHANNELS) return 2;
  destination.channelCount = DEVICE_CHANNELS;
  destination.channelCountMode = 'explicit';
  destination.channelInterpretation = 'discrete';
  return DEVICE_CHANNELS;
}

function engineNode(
  context: AudioContext,
  request: SoundRequest,
  input: OpenedInput,
  outputs: number,
): AudioWorkletNode {
  const setup: ProcessorSetup = {
    sampleRate: request.sampleRate,
    inputChannels: input.channels,
    ringSeconds: RING_SECONDS,
    outputChannels: outputs,
    baseLatencySeconds: context.baseLatency,
  };
  return new AudioWorkletNode(context, PROCESSOR_NAME, {
    numberOfInputs: 1,
    numberOfOutputs: 1,
    outputChannelCount: [outputs],
    channelCount: input.channels,
    channelCountMode: 'explicit',
    channelInterpretation: 'discrete',
    processorOptions: setup,
  });
}

/** The browser's own figures, added up: an estimate, tens of milliseconds off on some machines. */
function estimateOf(context: AudioContext, input: OpenedInput, lookAhead: Frames): Frames {
  const latency = context.baseLatency + context.outputLatency + input.latencySeconds;
  return frames(nearestFrame(latency * context.sampleRate) + lookAhead);
}
