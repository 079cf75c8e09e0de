/** A sound that is open: context, input, engine and clock, from the request to the end. */
import type { EngineCommand, EngineReport } from '../core/render/commands.js';
import type { Peaks } from '../core/render/meters.js';
import type { Result } from '../core/result/result.js';
import { failure, success } from '../core/result/result.js';
import type { Frames, Milliseconds } from '../core/units/index.js';
import { frames, milliseconds, nearestFrame, seconds } from '../core/units/index.js';
import type { SoundInterruption, SoundObservation, SoundOpened, SoundRefusal, SoundRequest } from '../ports/sound.js';
import { openContext, outputOf } from './context.js';
import type { CountedInput } from './counted-input.js';
import { countInput } from './counted-input.js';
import { outputName } from './devices.js';
import { Disturbances } from './disturbances.js';
import { EngineLink } from './engine-link.js';
import { command, makeNode, post, RING_SECONDS, spreadOutput } from './engine-node.js';
import type { OpenedInput } from './input.js';
import { openInput } from './input.js';
import { keepReading, readOutput } from './output-clock.js';
import { PressClock } from './press-clock.js';

/** Where the parts that run elsewhere are served. */
export interface SoundParts {
  readonly processorUrl: string;
  /** The worker that counts the input. */
  readonly counterUrl: string;
}

export interface SoundEvents {
  report(report: EngineReport): void;
  interrupted(why: SoundInterruption): void;
  observed(observation: SoundObservation): void;
}

export class OpenSound {
  readonly request: SoundRequest;
  readonly #parts: SoundParts;
  readonly #events: SoundEvents;
  readonly #context: AudioContext;
  readonly #input: OpenedInput;
  readonly #clock: PressClock;
  #link: EngineLink | null = null;
  #counted: CountedInput | null = null;
  #disturbances: Disturbances | null = null;
  #stopReading: () => void = () => undefined;
  #opened: SoundOpened | null = null;

  private constructor(
    request: SoundRequest,
    parts: SoundParts,
    events: SoundEvents,
    context: AudioContext,
    input: OpenedInput,
  ) {
    this.request = request;
    this.#parts = parts;
    this.#events = events;
    this.#context = context;
    this.#input = input;
    this.#clock = new PressClock(request.sampleRate);
  }

  static async open(
    request: SoundRequest,
    parts: SoundParts,
    events: SoundEvents,
  ): Promise<Result<OpenSound, SoundRefusal>> {
    const context = await openContext(request);
    if (!context.ok) return context;
    const input = await openInput(request.inputId);
    if (!input.ok) {
      await context.value.close();
      return input;
    }
    const sound = new OpenSound(request, parts, events, context.value, input.value);
    const refusal = await sound.#start();
    if (refusal === null) return success(sound);
    await sound.close();
    return failure(refusal);
  }

  get opened(): SoundOpened {
    if (this.#opened === null) throw new Error('Got a sound that did not open when expected one that did.');
    return this.#opened;
  }

  /** Whether something is being recorded. */
  get isRecording(): boolean {
    return (this.#link?.recordings ?? 0) > 0;
  }

  send(order: EngineCommand): void {
    if (this.#link !== null) command(this.#link.node, order);
  }

  heardAt(timeStamp: Milliseconds): Frames {
    this.#clock.read(readOutput(this.#context));
    return frames(this.#clock.heardAt(timeStamp));
  }

  inputPeak(): number {
    return this.#link?.peaks.takeInput() ?? 0;
  }

  peaks(): Peaks | null {
    return this.#link?.peaks.take() ?? null;
  }

  async close(): Promise<void> {
    this.#stopReading();
    this.#disturbances?.stop();
    this.#counted?.stop();
    if (this.#link !== null) post(this.#link.node, { type: 'close' });
    for (const track of this.#input.stream.getTracks()) track.stop();
    await this.#context.close();
  }

  async #start(): Promise<SoundRefusal | null> {
    const { request } = this;
    const context = this.#context;
    const input = this.#input;
    try {
      await context.resume();
      await context.audioWorklet.addModule(this.#parts.processorUrl);
    } catch {
      return 'engine-failed';
    }
    const source = sourceOf(context, input.stream);
    if (source === null) return 'rate-refused';
    const outputs = spreadOutput(context.destination);
    const node = makeNode(context, { sampleRate: request.sampleRate, inputs: input.channels, outputs });
    const link = new EngineLink(context, node, this.#clock, this.#events);
    this.#link = link;
    source.connect(node);
    node.connect(context.destination);
    const [lookAhead, settled] = await Promise.all([link.stands, this.#startCounting(link)]);
    if (lookAhead === null || !settled) return 'engine-failed';
    this.#watch(link);
    const outputId = outputOf(context);
    this.#opened = {
      inputName: input.name,
      inputId: input.id,
      outputName: await outputName(outputId),
      outputId,
      pace: request.pace,
      capture: this.#counted === null ? 'processor' : 'track',
      inputChannels: input.channels,
      outputChannels: outputs,
      sampleRate: request.sampleRate,
      baseLatency: frames(nearestFrame(context.baseLatency * context.sampleRate)),
      estimatedRoundTrip: estimateOf(context, input, lookAhead),
      heldSeconds: seconds(RING_SECONDS),
      lookAhead,
      processing: input.processing,
    };
    return null;
  }

  /** @returns false where it was begun and went wrong; true also where the processor's own input is recorded. */
  async #startCounting(link: EngineLink): Promise<boolean> {
    const { sampleRate } = this.request;
    const { track, channels } = this.#input;
    const counted = await countInput(track, this.#parts.counterUrl, { sampleRate, channels });
    if (counted === null) return true;
    this.#counted = counted;
    counted.whenEnded(() => {
      // Where the input has ended, that is told.
      if (track.readyState === 'live') this.#events.interrupted('input-stalled');
    });
    const settles = link.settles();
    post(link.node, { type: 'use-counted' }, [counted.port]);
    return settles;
  }

  #watch(link: EngineLink): void {
    const context = this.#context;
    const disturbances = new Disturbances({
      context,
      track: this.#input.track,
      captured: () => link.captured,
      interrupted: (why) => {
        this.#events.interrupted(why);
      },
      observed: (observation) => {
        this.#events.observed(observation);
      },
    });
    this.#disturbances = disturbances;
    this.#stopReading = keepReading(
      context,
      (reading) => {
        this.#clock.read(reading);
        const heard = reading.contextSeconds * context.sampleRate;
        this.#events.observed({ type: 'output-clock', at: milliseconds(reading.performanceMs), heard });
      },
      () => {
        disturbances.readClocks();
      },
    );
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

/** The browser's own figures, added up: an estimate, tens of milliseconds off on some machines. */
function estimateOf(context: AudioContext, input: OpenedInput, lookAhead: Frames): Frames {
  const latency = context.baseLatency + context.outputLatency + input.latencySeconds;
  return frames(nearestFrame(latency * context.sampleRate) + lookAhead);
}
