/**
 * A page that takes its time, round the engine: it answers what the engine asks for some frames later, or not at all for
 * a while, and keeps the books: what was asked for, what must be in the pool, what memory was given. What comes out is
 * handed on block by block, so that hours can be listened to.
 */
import { PRESS_RULES } from '../../src/core/meter/presses.js';
import type { EngineCommand, EngineReport, PassRules } from '../../src/core/render/commands.js';
import { Engine } from '../../src/core/render/engine.js';
import { CHUNK_FRAMES, SLAB_BYTES, SLAB_FRAMES } from '../../src/core/render/pool.js';
import { bars, frames, gain, sampleRate } from '../../src/core/units/index.js';
import type { RowVoice } from './row-programs.js';
import { noiseAt } from './signals.js';

type Report<Type extends EngineReport['type']> = Extract<EngineReport, { type: Type }>;
type Chunk = Pick<Report<'audio-wanted'>, 'audio' | 'channel' | 'chunk'>;

export interface StreamingOptions {
  readonly rate?: number;
  readonly poolBytes?: number;
  /** Frames from a request to its answer. */
  readonly latency?: () => number;
  readonly blockSize?: () => number;
  /** What the library holds. */
  readonly source?: (audio: number, frame: number) => number;
  /** What comes in, at a capture frame. */
  readonly input?: (frame: number) => number;
  /** Frames from `captured` to the moment that it is stored; Infinity: never. */
  readonly storing?: number;
  /** Called before every block of `count` frames from engine frame `at` on: `present` is what the block can play. */
  readonly before?: (page: StreamingPage, at: number, count: number) => void;
  /** Called with every block of the left foldback; its first sample is engine frame `at`. */
  readonly heard?: (left: Float32Array, at: number) => void;
}

/** Quiet noise in which every place differs: read from a table, since hours of it are needed. */
const TABLE = Float32Array.from({ length: 1 << 18 }, (_, i) => noiseAt(i, 21));
export const sourceAt =
  (level: number) =>
  (audio: number, frame: number): number =>
    Math.fround((TABLE[(frame + audio * 7919) & (TABLE.length - 1)] ?? 0) * level);

/** Whole numbers of [from, to], by a seed. */
export function drawing(seed: number): (from: number, to: number) => number {
  let n = 0;
  return (from, to) => from + Math.floor(((noiseAt(n++, seed) + 1) / 2) * (to - from + 1));
}

/** The sum of voices without leads, tails and fades, at a song position. */
export function plainSum(
  voices: readonly RowVoice[],
  source: (audio: number, frame: number) => number,
  position: number,
): number {
  let sum = 0;
  for (const { audio, bodyStart, bodyFrames, start = 0, end = Infinity } of voices) {
    const round = Math.floor((position - start) / bodyFrames);
    if (round < 0 || start + round * bodyFrames >= end) continue;
    sum += source(audio, bodyStart + position - start - round * bodyFrames);
  }
  return Math.fround(sum);
}

export const keyOf = ({ audio, channel, chunk }: Chunk): string => `${audio}/${channel}/${chunk}`;

export class StreamingPage {
  readonly engine: Engine;
  readonly reports: EngineReport[] = [];
  /** How often each chunk was asked for. */
  readonly asked = new Map<string, number>();
  /** Every request in order, with the frame it was made at. */
  readonly requests: (Chunk & { readonly at: number })[] = [];
  /** Chunks that have come and been copied: two from one block to the next. */
  readonly present = new Set<string>();
  /** What came in of each recording made here, channel 0. */
  readonly captured = new Map<number, number[]>();
  /** Frames of each that are stored. */
  readonly stored = new Map<number, number>();
  slabs = 0;
  mostInFlight = 0;
  /** No answer is given before this frame. */
  stalledUntil = 0;
  readonly #options: StreamingOptions;
  readonly #rate: number;
  readonly #source: (audio: number, frame: number) => number;
  #waiting: { readonly at: number; readonly command: EngineCommand }[] = [];
  readonly #arrived: string[] = [];
  #copies = 2;
  #inFlight = 0;
  /** The engine frame that has been reached: the engine reports before it can be asked. */
  #now = 0;
  #foldback = [new Float32Array(0), new Float32Array(0)] as const;
  #input = new Float32Array(0);

  constructor(options: StreamingOptions = {}) {
    this.#options = options;
    this.#rate = options.rate ?? 48_000;
    this.#source = options.source ?? sourceAt(0.1);
    this.engine = new Engine(
      {
        sampleRate: sampleRate(this.#rate),
        inputChannels: 1,
        ringSeconds: 20,
        ...(options.poolBytes === undefined ? {} : { poolBytes: options.poolBytes }),
      },
      (report) => {
        this.#onReport(report);
      },
    );
    this.handle({ type: 'set-click', playing: false, gain: gain(0) });
    // The click's gain has got there, and the first slab.
    this.runUntil(1000);
  }

  get rendered(): number {
    return this.engine.rendered;
  }

  get origin(): number {
    const { plan } = this.engine;
    if (plan.type !== 'running') throw new Error(`Got a ${plan.type} engine when expected a running one.`);
    return plan.origin;
  }

  /** Frames of voices that were late, as far as they were told of. */
  get late(): number {
    return this.#faults('late-chunk').reduce((sum, { count }) => sum + count, 0);
  }

  get bytes(): number {
    return this.slabs * SLAB_BYTES;
  }

  all<Type extends EngineReport['type']>(type: Type): Report<Type>[] {
    return this.reports.filter((report): report is Report<Type> => report.type === type);
  }

  handle(command: EngineCommand): void {
    this.engine.handle(command);
  }

  rules(length: number | null, more: Partial<PassRules> = {}): void {
    this.handle({
      type: 'set-rules',
      rules: {
        bars: length === null ? null : bars(length),
        loopBars: length === null ? null : bars(length),
        presses: PRESS_RULES,
        countIn: bars(1),
        channels: [0],
        withoutTempo: false,
        keepLayering: false,
        replaces: null,
        ...more,
      },
    });
  }

  play(): void {
    this.handle({ type: 'play', heard: frames(this.rendered) });
  }

  stop(): void {
    this.handle({ type: 'stop', heard: frames(this.rendered) });
  }

  runUntil(frame: number): void {
    while (this.rendered < frame) this.block();
  }

  runUntilReady(revision: number): void {
    const limit = this.rendered + 120 * this.#rate;
    while (!this.all('program-ready').some((report) => report.revision === revision)) {
      if (this.rendered > limit) throw new Error(`Got two minutes without program ${revision} when expected it ready.`);
      this.block();
    }
  }

  /** Runs a second more: what was late has been told of then. */
  hearOut(): void {
    this.runUntil(this.rendered + this.#rate + 1000);
  }

  block(): void {
    const count = this.#options.blockSize?.() ?? 128;
    if (count > this.#input.length) this.#grow(count);
    const at = this.rendered;
    const input = this.#input.subarray(0, count);
    const { input: comesIn, heard } = this.#options;
    if (comesIn !== undefined) for (let i = 0; i < count; i++) input[i] = comesIn(at + i);
    this.#copies = 2;
    this.#copy();
    this.#options.before?.(this, at, count);
    const [left, right] = this.#foldback;
    this.engine.process([input], [left.subarray(0, count), right.subarray(0, count)], null, count);
    heard?.(left.subarray(0, count), at - this.engine.lookAhead);
    this.#now = this.rendered;
    this.#answer();
  }

  #grow(count: number): void {
    this.#foldback = [new Float32Array(count), new Float32Array(count)];
    this.#input = new Float32Array(count);
  }

  #faults(kind: Report<'fault'>['kind']): Report<'fault'>[] {
    return this.all('fault').filter((report) => report.kind === kind);
  }

  #onReport(report: EngineReport): void {
    const at = this.#now;
    switch (report.type) {
      case 'slab-wanted':
        this.#later(at + 500, { type: 'supply-slab', slab: new Float32Array(SLAB_FRAMES).fill(0.7) });
        break;
      case 'audio-wanted':
        this.#onWanted(report, at);
        break;
      case 'captured':
        this.#onCaptured(report, at);
        break;
      default:
        this.reports.push(report);
    }
  }

  #onWanted(report: Report<'audio-wanted'>, at: number): void {
    const key = keyOf(report);
    const { audio, channel, chunk } = report;
    this.asked.set(key, (this.asked.get(key) ?? 0) + 1);
    this.requests.push({ audio, channel, chunk, at });
    this.present.delete(key);
    this.#inFlight++;
    this.mostInFlight = Math.max(this.mostInFlight, this.#inFlight);
    const from = chunk * CHUNK_FRAMES;
    const recording = this.captured.get(audio);
    const samples = new Float32Array(CHUNK_FRAMES);
    for (let i = 0; i < CHUNK_FRAMES; i++) {
      samples[i] = recording === undefined ? this.#source(audio, from + i) : (recording[from + i] ?? 0);
    }
    this.#later(at + (this.#options.latency?.() ?? 0), { type: 'supply', audio, channel, chunk, samples });
  }

  #onCaptured(report: Report<'captured'>, at: number): void {
    const { audio, start, frames: count, buffer } = report;
    const recording = this.captured.get(audio) ?? [];
    this.captured.set(audio, recording);
    if (recording.length !== start)
      throw new Error(`Got captured audio at ${start} when expected ${recording.length}.`);
    for (let i = 0; i < count; i++) recording.push(buffer[i] ?? 0);
    this.#later(at, { type: 'return-buffer', buffer });
    const storing = this.#options.storing ?? 24_000;
    if (storing < Infinity) this.#later(at + storing, { type: 'audio-stored', audio, frames: frames(start + count) });
  }

  #later(at: number, command: EngineCommand): void {
    this.#waiting.push({ at, command });
  }

  /** What is due, between blocks. */
  #answer(): void {
    const now = this.#now;
    if (now < this.stalledUntil) return;
    const due = this.#waiting.filter(({ at }) => at <= now);
    if (due.length === 0) return;
    this.#waiting = this.#waiting.filter(({ at }) => at > now);
    for (const { command } of due.sort((a, b) => a.at - b.at)) {
      if (command.type === 'supply-slab') this.slabs++;
      if (command.type === 'audio-stored') this.stored.set(command.audio, command.frames);
      if (command.type === 'supply') {
        this.#inFlight--;
        this.#arrived.push(keyOf(command));
        this.#copy();
      }
      this.engine.handle(command);
    }
  }

  #copy(): void {
    for (; this.#copies > 0 && this.#arrived.length > 0; this.#copies--) this.present.add(this.#arrived.shift() ?? '');
  }
}
