/** What the audio thread sends, at the one place where it comes in, and what follows from it. */
import type { EngineReport } from '../core/render/commands.js';
import { SLAB_FRAMES } from '../core/render/pool.js';
import type { Frames } from '../core/units/index.js';
import { frames } from '../core/units/index.js';
import type { SoundInterruption, SoundObservation } from '../ports/sound.js';
import type { ClockReading, FromEngine } from '../protocol/wire.js';
import { command } from './engine-node.js';
import { Observing } from './observing.js';
import { PeaksSince } from './peaks-since.js';
import type { PressClock } from './press-clock.js';

/** Clock readings to wait for the browser's output latency, which is 0 at first: half a second. */
const LATENCY_READINGS = 24;
/** The engine gives its captured frames their numbers within a second of its own time; then something is wrong. */
const SETTLE_MS = 5000;
/** An input that brings nothing for so long has come to a stop: a busy machine is never so late. */
const STALLED_SECONDS = 2;

export interface LinkEvents {
  report(report: EngineReport): void;
  observed(observation: SoundObservation): void;
  interrupted(why: SoundInterruption): void;
}

export class EngineLink {
  readonly node: AudioWorkletNode;
  readonly peaks = new PeaksSince();
  /** The look-ahead, when the engine stands and the browser knows its output latency; null if it failed. */
  readonly stands: Promise<Frames | null>;
  /** Capture frame after the newest that has come in, as far as the page knows. */
  captured = frames(0);
  /** Recordings that have begun and not ended. */
  recordings = 0;
  readonly #context: AudioContext;
  readonly #clock: PressClock;
  readonly #events: LinkEvents;
  readonly #observing = new Observing();
  #stand: (lookAhead: Frames | null) => void = () => undefined;
  #settle: (settled: boolean) => void = () => undefined;
  #lookAhead = frames(0);
  /** Engine frame of the last reading in which more had come in; Infinity once it was told that nothing does. */
  #grewAt = 0;
  #readings = 0;

  constructor(context: AudioContext, node: AudioWorkletNode, clock: PressClock, events: LinkEvents) {
    this.node = node;
    this.#context = context;
    this.#clock = clock;
    this.#events = events;
    this.stands = new Promise((resolve) => {
      this.#stand = resolve;
    });
    node.onprocessorerror = () => {
      this.#failed();
    };
    node.port.onmessage = (event: MessageEvent<FromEngine>) => {
      this.#receive(event.data);
    };
  }

  /** @returns whether the frames that come by the other way have got their numbers. */
  settles(): Promise<boolean> {
    return new Promise((resolve) => {
      this.#settle = resolve;
      setTimeout(() => {
        resolve(false);
      }, SETTLE_MS);
    });
  }

  #receive(message: FromEngine): void {
    switch (message.type) {
      case 'ready':
        this.#lookAhead = frames(message.lookAhead);
        this.#clock.setLookAhead(this.#lookAhead);
        break;
      case 'clock':
        this.#read(message);
        break;
      case 'report':
        this.#report(message.report);
        break;
      case 'observed':
        if (message.observation.type === 'capture-settled') this.#settle(true);
        else this.#events.observed(message.observation);
        break;
      case 'failed':
        this.#failed();
        break;
      default:
        message satisfies never;
    }
  }

  #read(reading: ClockReading): void {
    this.#clock.setContextAhead(reading.contextAhead);
    this.peaks.add(reading.peaks);
    this.#follow(reading);
    this.#readings++;
    if (this.#context.outputLatency > 0 || this.#readings >= LATENCY_READINGS) this.#stand(this.#lookAhead);
    const systemAhead = Date.now() - performance.now();
    for (const observation of this.#observing.of(reading, systemAhead)) this.#events.observed(observation);
  }

  #follow({ captured, rendered }: ClockReading): void {
    if (captured !== this.captured) this.#grewAt = Math.max(this.#grewAt, rendered);
    this.captured = frames(captured);
    if (rendered - this.#grewAt < STALLED_SECONDS * this.#context.sampleRate) return;
    this.#grewAt = Infinity;
    this.#events.interrupted('input-stalled');
  }

  #report(report: EngineReport): void {
    if (report.type === 'slab-wanted') {
      const slab = new Float32Array(SLAB_FRAMES);
      // Written here so that the audio thread is never the first to touch it.
      slab.fill(0);
      command(this.node, { type: 'supply-slab', slab });
      return;
    }
    if (report.type === 'recording-started') this.recordings++;
    if (report.type === 'recording-ended') this.recordings--;
    this.#events.report(report);
    if (report.type === 'captured') command(this.node, { type: 'return-buffer', buffer: report.buffer });
  }

  #failed(): void {
    this.#stand(null);
    this.#events.interrupted('engine-stopped');
  }
}
