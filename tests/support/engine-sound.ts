/** A sound port with the real engine behind it, run by hand: no browser, no clock but the frames it has rendered. */
import { Engine } from '../../src/core/render/engine.js';
import type { EngineCommand, EngineReport } from '../../src/core/render/commands.js';
import type { Peaks } from '../../src/core/render/meters.js';
import { SLAB_FRAMES } from '../../src/core/render/pool.js';
import type { Result } from '../../src/core/result/result.js';
import { failure, success } from '../../src/core/result/result.js';
import type { Frames, Milliseconds } from '../../src/core/units/index.js';
import { frames, milliseconds, seconds } from '../../src/core/units/index.js';
import type {
  Sound,
  SoundDevices,
  SoundInterruption,
  SoundListener,
  SoundObservation,
  SoundOpened,
  SoundRefusal,
  SoundRequest,
} from '../../src/ports/sound.js';

const BLOCK = 128;
/** Frames from the mix to the player's ears. */
export const OUTPUT_DELAY = 1024;

export class EngineSound implements Sound {
  #listener: SoundListener | null = null;
  #engine: Engine | null = null;
  #rate = 48_000;
  readonly #waiting: EngineCommand[] = [];
  /** What comes in at a heard frame. */
  play: (heard: number) => number = () => 0;
  /** The same for every other channel. */
  playOn: (channel: number, heard: number) => number = () => 0;
  channels = 1;
  /** Of the device; what leaves by them is in `sent` where it is asked for, and `out` is the first of them. */
  outputs = 2;
  isRouted = false;
  names = { input: 'Test input', output: 'Test output' };
  /** True round trip, mix to ring. */
  roundTrip = 4096;
  refusal: SoundRefusal | null = null;
  /** What the engine said should not have happened. */
  readonly faults: EngineReport[] = [];
  /** Chunks that the engine has asked for and not been given. */
  wanted = 0;
  /** The left foldback from the first frame on. */
  readonly out: number[] = [];
  /** What leaves by every output of the device, from the first frame on. */
  readonly sent: readonly number[][] = Array.from({ length: 4 }, () => []);

  open(request: SoundRequest): Promise<Result<SoundOpened, SoundRefusal>> {
    if (this.refusal !== null) return Promise.resolve(failure(this.refusal));
    this.#rate = request.sampleRate;
    this.#engine = new Engine(
      { sampleRate: request.sampleRate, inputChannels: this.channels, outputChannels: this.outputs, ringSeconds: 60 },
      (report) => {
        if (report.type === 'slab-wanted')
          this.#waiting.push({ type: 'supply-slab', slab: new Float32Array(SLAB_FRAMES) });
        else this.#listener?.report(report);
        if (report.type === 'audio-wanted') this.wanted++;
        if (report.type === 'fault') this.faults.push(report);
        if (report.type === 'captured') this.#waiting.push({ type: 'return-buffer', buffer: report.buffer });
      },
    );
    return Promise.resolve(
      success({
        inputName: this.names.input,
        inputId: 'test-input',
        outputName: this.names.output,
        outputId: request.outputId,
        pace: request.pace,
        capture: 'processor',
        baseLatency: frames(BLOCK),
        inputChannels: this.channels,
        outputChannels: this.outputs,
        sampleRate: request.sampleRate,
        estimatedRoundTrip: frames(this.roundTrip),
        heldSeconds: seconds(60),
        lookAhead: this.#engine.lookAhead,
        processing: [],
      }),
    );
  }

  send(command: EngineCommand): void {
    if (command.type === 'supply') this.wanted--;
    this.#engine?.handle(command);
    this.#deliver();
    // What comes is copied block by block.
    if (command.type === 'supply') this.runUntil(this.rendered + 1);
  }

  listen(listener: SoundListener): void {
    this.#listener = listener;
  }

  heardAt(timeStamp: Milliseconds): Frames {
    return frames(Math.max(0, Math.round((timeStamp * this.#rate) / 1000) - OUTPUT_DELAY));
  }

  inputPeak(): number | null {
    return this.#engine === null ? null : 0.1;
  }

  peaks(): Peaks | null {
    return this.#engine?.readPeaks() ?? null;
  }

  close(): Promise<void> {
    this.#engine = null;
    return Promise.resolve();
  }

  devices(): Promise<SoundDevices> {
    const inputs = [{ id: 'test-input', name: 'Test input' }];
    const outputs = [{ id: 'test-output', name: 'Test output' }];
    return Promise.resolve({ inputs, outputs, named: true, outputCanBeChosen: true });
  }

  observe(observation: SoundObservation): void {
    this.#listener?.observed(observation);
  }

  interrupt(why: SoundInterruption): void {
    this.#listener?.interrupted(why);
  }

  get rendered(): number {
    return this.#engine?.rendered ?? 0;
  }

  /** Now, on the clock that `heardAt` reads. */
  get now(): Milliseconds {
    return milliseconds((this.rendered * 1000) / this.#rate);
  }

  get origin(): number {
    const plan = this.#engine?.plan;
    if (plan?.type !== 'running') throw new Error('Got an engine at rest when expected a running one.');
    return plan.origin;
  }

  get lookAhead(): number {
    return this.#engine?.lookAhead ?? 0;
  }

  runUntil(frame: number): void {
    const engine = this.#engine;
    while (engine !== null && engine.rendered < frame) {
      const heard = engine.rendered - this.roundTrip;
      const input = Array.from({ length: this.channels }, (_, c) =>
        Float32Array.from({ length: BLOCK }, (__, i) => (c === 0 ? this.play(heard + i) : this.playOn(c, heard + i))),
      );
      this.#render(engine, input);
      this.#deliver();
    }
  }

  #render(engine: Engine, input: readonly Float32Array[]): void {
    const foldback = [new Float32Array(BLOCK), new Float32Array(BLOCK)] as const;
    const device = Array.from({ length: this.outputs }, (_, c) => foldback[c] ?? new Float32Array(BLOCK));
    if (this.isRouted) {
      engine.send(input, device, BLOCK);
      device.forEach((channel, c) => this.sent[c]?.push(...channel));
    } else engine.process(input, foldback, null, BLOCK);
    this.out.push(...foldback[0]);
  }

  #deliver(): void {
    for (let command = this.#waiting.shift(); command !== undefined; command = this.#waiting.shift()) {
      this.#engine?.handle(command);
    }
  }
}
