/**
 * A page and a player round the engine, in Node: gives it memory and audio when it asks, plays into its input what a
 * player who hears its output would play, and keeps everything that comes out.
 */
import { PRESS_RULES } from '../../src/core/meter/presses.js';
import type { EngineCommand, EngineReport, PassRules } from '../../src/core/render/commands.js';
import { Engine } from '../../src/core/render/engine.js';
import type { EngineObservation } from '../../src/core/render/observations.js';
import { CHUNK_FRAMES, SLAB_FRAMES } from '../../src/core/render/pool.js';
import type { Program } from '../../src/core/program/program.js';
import { bars, frames, sampleRate } from '../../src/core/units/index.js';
import { noiseAt } from './signals.js';

type Report<Type extends EngineReport['type']> = Extract<EngineReport, { type: Type }>;

/** Samples that grow. */
class Tape {
  #data = new Float32Array(1 << 20);
  #length = 0;

  add(samples: Float32Array): void {
    if (this.#length + samples.length > this.#data.length) {
      const longer = new Float32Array(2 * this.#data.length);
      longer.set(this.#data);
      this.#data = longer;
    }
    this.#data.set(samples, this.#length);
    this.#length += samples.length;
  }

  from(index: number): Float32Array {
    return this.#data.subarray(index, this.#length);
  }
}

export interface PerformanceOptions {
  readonly rate?: number;
  /** Frames from the mix to the ring. */
  readonly roundTrip?: number;
  /** Frames from the mix to the player's ears; presses are heard so late. */
  readonly outputDelay?: number;
  readonly channels?: number;
  /** Seconds of input that the ring holds at least. */
  readonly ringSeconds?: number;
  /** The size of the next block; 128 unless given. */
  readonly blockSize?: () => number;
  /**
   * The input is counted where it is captured, and comes in pieces of 10 ms, so many frames later than the engine's own
   * input would bring it. Noise comes in before anything is played, so that both ways can be compared.
   */
  readonly countedLag?: number;
}

/** Frames that are captured in one go: 10 ms at 48 kHz. */
const PIECE = 480;
/** What the first frame that was counted elsewhere is called there. */
const FIRST_COUNTED = 1_000_000;

export class Performance {
  readonly rate: number;
  readonly roundTrip: number;
  readonly outputDelay: number;
  readonly channels: number;
  readonly engine: Engine;
  readonly reports: EngineReport[] = [];
  readonly observations: EngineObservation[] = [];
  /** What comes in on channel 0 at a *heard* frame: the engine gets it a round trip later. */
  play: (heard: number) => number = () => 0;
  /** The same for every other channel. */
  playOn: (channel: number, heard: number) => number = () => 0;
  /** Told of every report as it is made. */
  hears: (report: EngineReport) => void = () => undefined;
  /** Everything that came out, undelayed by the limiter. */
  readonly #left = new Tape();
  readonly #right = new Tape();
  readonly #house = new Tape();
  readonly #blockSize: () => number;
  /** Audio that storage would hold: handle → channels. */
  readonly stored = new Map<number, number[][]>();
  #pending: EngineCommand[] = [];
  readonly #countedLag: number | null;
  /** What has come in on each channel since the beginning. */
  readonly #cameIn: readonly Tape[];
  /** Engine frame of the next that is to come counted. */
  #nextCounted = 0;

  constructor(options: PerformanceOptions = {}) {
    this.rate = options.rate ?? 48_000;
    this.roundTrip = options.roundTrip ?? 4928;
    this.outputDelay = options.outputDelay ?? 2000;
    this.channels = options.channels ?? 1;
    this.#blockSize = options.blockSize ?? (() => 128);
    this.engine = new Engine(
      { sampleRate: sampleRate(this.rate), inputChannels: this.channels, ringSeconds: options.ringSeconds ?? 60 },
      (report) => {
        this.#onReport(report);
      },
      (observation) => {
        this.observations.push(observation);
      },
    );
    this.#countedLag = options.countedLag ?? null;
    this.#cameIn = Array.from({ length: this.channels }, () => new Tape());
    this.#deliver();
    this.engine.handle({
      type: 'set-round-trip',
      roundTrip: { frames: frames(this.roundTrip), how: 'measured', sure: true },
    });
    this.engine.handle({ type: 'set-click', playing: false, gain: 0 as never });
    if (this.#countedLag !== null) this.#settleCounted();
  }

  get rendered(): number {
    return this.engine.rendered;
  }

  /** The frame that the player hears now. */
  get heard(): number {
    return Math.max(0, this.rendered - this.outputDelay);
  }

  /** The left channel of the foldback, as the engine mixed it: sample i is engine frame i. */
  get left(): Float32Array {
    return this.#left.from(this.engine.lookAhead);
  }

  get right(): Float32Array {
    return this.#right.from(this.engine.lookAhead);
  }

  get house(): Float32Array {
    return this.#house.from(this.engine.lookAhead);
  }

  handle(command: EngineCommand): void {
    this.engine.handle(command);
    this.#deliver();
  }

  /** Where nothing plays, renders until the program is ready: as a player would wait for it. */
  useProgram(program: Program): void {
    this.handle({ type: 'use-program', program });
    const isReady = ({ revision }: Report<'program-ready'>): boolean => revision === program.revision;
    if (this.engine.plan.type === 'stopped') this.runUntilReport('program-ready', isReady);
  }

  rules(length: number | null, countIn = 1, more: Partial<PassRules> = {}): void {
    this.handle({
      type: 'set-rules',
      rules: {
        bars: length === null ? null : bars(length),
        loopBars: length === null ? null : bars(length),
        presses: PRESS_RULES,
        countIn: bars(countIn),
        channels: [0],
        withoutTempo: false,
        keepLayering: false,
        replaces: null,
        ...more,
      },
    });
  }

  /** Renders until a heard frame, then presses. */
  pressAt(heard: number): void {
    this.runUntil(heard + this.outputDelay);
    this.handle({ type: 'press', heard: frames(heard) });
  }

  /** Renders whole blocks until at least an engine frame. */
  runUntil(frame: number): void {
    while (this.rendered < frame) this.#block();
  }

  all<Type extends EngineReport['type']>(type: Type): Report<Type>[] {
    return this.reports.filter((report): report is Report<Type> => report.type === type);
  }

  last<Type extends EngineReport['type']>(type: Type): Report<Type> {
    const found = this.all(type).at(-1);
    if (found === undefined) throw new Error(`Got no ${type} report when expected one.`);
    return found;
  }

  /** Renders until a report of a type has come that the predicate takes; throws after a minute of sound. */
  runUntilReport<Type extends EngineReport['type']>(
    type: Type,
    takes: (report: Report<Type>) => boolean = () => true,
  ): Report<Type> {
    const limit = this.rendered + 60 * this.rate;
    for (;;) {
      const found = this.all(type).find(takes);
      if (found !== undefined) return found;
      if (this.rendered > limit) throw new Error(`Got a minute without a ${type} report when expected one.`);
      this.#block();
    }
  }

  get origin(): number {
    const { plan } = this.engine;
    if (plan.type !== 'running') throw new Error(`Got a ${plan.type} engine when expected a running one.`);
    return plan.origin;
  }

  #block(): void {
    const count = this.#blockSize();
    const start = this.rendered;
    const input = Array.from({ length: this.channels }, () => new Float32Array(count));
    input.forEach((channel, c) => {
      for (let i = 0; i < count; i++) {
        const heard = start + i - this.roundTrip;
        channel[i] = c === 0 ? this.play(heard) : this.playOn(c, heard);
      }
      this.#cameIn[c]?.add(channel);
    });
    const foldback = [new Float32Array(count), new Float32Array(count)] as const;
    const house = [new Float32Array(count), new Float32Array(count)] as const;
    this.engine.process(input, foldback, house, count);
    this.#left.add(foldback[0]);
    this.#right.add(foldback[1]);
    this.#house.add(house[0]);
    this.#bringCounted();
    this.#deliver();
  }

  #settleCounted(): void {
    const { play } = this;
    this.play = (heard) => noiseAt(heard, 77) / 1000;
    this.engine.useCounted();
    while (this.observations.length === 0) this.#block();
    this.play = play;
  }

  #bringCounted(): void {
    if (this.#countedLag === null) return;
    for (; this.#nextCounted + PIECE <= this.rendered - this.#countedLag; this.#nextCounted += PIECE) {
      const at = this.#nextCounted;
      const piece = this.#cameIn.map((tape) => tape.from(at).slice(0, PIECE));
      this.engine.takeCounted(piece, FIRST_COUNTED + at, PIECE);
    }
  }

  #onReport(report: EngineReport): void {
    this.hears(report);
    if (report.type !== 'captured') {
      this.reports.push(report);
    }
    switch (report.type) {
      case 'slab-wanted':
        this.#pending.push({ type: 'supply-slab', slab: new Float32Array(SLAB_FRAMES) });
        break;
      case 'audio-wanted': {
        const channel = this.stored.get(report.audio)?.[report.channel] ?? [];
        const samples = Float32Array.from(
          channel.slice(report.chunk * CHUNK_FRAMES, (report.chunk + 1) * CHUNK_FRAMES),
        );
        this.#pending.push({ ...report, type: 'supply', samples });
        break;
      }
      case 'recording-started':
        this.stored.set(
          report.audio,
          Array.from({ length: report.channels }, () => []),
        );
        break;
      case 'captured': {
        const channels = this.stored.get(report.audio);
        channels?.forEach((channel, c) => {
          if (channel.length !== report.start)
            throw new Error(`Got captured audio at ${report.start} when expected ${channel.length}.`);
          for (let i = 0; i < report.frames; i++) channel.push(report.buffer[c * report.frames + i] ?? 0);
        });
        this.#pending.push({ type: 'return-buffer', buffer: report.buffer });
        break;
      }
      default:
    }
  }

  /** What the page would answer, between blocks. */
  #deliver(): void {
    while (this.#pending.length > 0) {
      const commands = this.#pending;
      this.#pending = [];
      for (const command of commands) this.engine.handle(command);
    }
  }
}
