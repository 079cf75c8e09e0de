/** Sound as it is being worked with: opening it, the round trip in use, what the engine was told and what it plans. */
import type { EngineCommand, EngineReport, RoundTrip } from '../core/render/commands.js';
import type { Song } from '../core/song/song.js';
import type { Plan } from '../core/transport/plan.js';
import type { Frames, Milliseconds, SampleRate } from '../core/units/index.js';
import {
  addFrames,
  frames,
  framesFromMilliseconds,
  framesFromSeconds,
  millisecondsFromFrames,
} from '../core/units/index.js';
import type { SetUp } from '../ports/library.js';
import type {
  Sound,
  SoundChange,
  SoundDevices,
  SoundInterruption,
  SoundObservation,
  SoundOpened,
  SoundRefusal,
} from '../ports/sound.js';
import type { SoundView } from './snapshot.js';
import type { SoundHealth } from './sound-health.js';
import { HealthReadings } from './sound-health.js';

const STOPPED: Plan = { type: 'stopped', at: frames(0) };

export interface SoundEvents {
  report(report: EngineReport): void;
  interrupted(): void;
  observed(observation: SoundObservation): void;
  changed(): void;
}

export class SoundDesk {
  readonly #sound: Sound;
  readonly #events: SoundEvents;
  #view: SoundView = { state: 'asleep' };
  #opened: SoundOpened | null = null;
  /** The engine has what it plays: a press is answered. */
  #isReady = false;
  #stated: Milliseconds | null = null;
  #measured: RoundTrip | null = null;
  #channels: readonly number[] = [0];
  #spare: number | null = null;
  #devices: SoundDevices | null = null;
  #change: SoundChange | null = null;
  readonly #readings = new HealthReadings();
  plan: Plan = STOPPED;

  constructor(sound: Sound, events: SoundEvents) {
    this.#sound = sound;
    this.#events = events;
    sound.listen({
      report: (report) => {
        const before = this.health;
        this.#readings.report(report);
        events.report(report);
        if (this.health !== before) events.changed();
      },
      interrupted: (why) => {
        this.#interrupted(why);
      },
      observed: (observation) => {
        this.#observed(observation);
      },
    });
  }

  get view(): SoundView {
    return this.#view;
  }

  /** What can be chosen; null until it was asked for. */
  get devices(): SoundDevices | null {
    return this.#devices;
  }

  /** What has changed last round the sound, while it went on. */
  get change(): SoundChange | null {
    return this.#change;
  }

  get health(): SoundHealth {
    return this.#readings.health;
  }

  get isOpen(): boolean {
    return this.#opened !== null;
  }

  get isReady(): boolean {
    return this.#isReady;
  }

  get isOpening(): boolean {
    return this.#view.state === 'opening';
  }

  /** The input channels in use, from 0, each once: at least one, none that the input does not have, and not the spare one. */
  get channels(): readonly number[] {
    const free = Array.from({ length: this.inputChannels }, (_, c) => c).filter((c) => c !== this.#spare);
    const used = [...new Set(this.#channels)].filter((c) => free.includes(c));
    const wanted = this.#channels[0] ?? 0;
    return used.length > 0 ? used : [free.findLast((c) => c <= wanted) ?? free[0] ?? 0];
  }

  /** The first of them. */
  get channel(): number {
    return this.channels[0] ?? 0;
  }

  get roundTrip(): RoundTrip {
    const opened = this.#opened;
    if (opened === null) return { frames: frames(0), how: 'estimated', sure: false };
    if (this.#stated === null && this.#measured !== null) return this.#measured;
    if (this.#stated === null) return { frames: opened.estimatedRoundTrip, how: 'estimated', sure: false };
    const stated = framesFromMilliseconds(this.#stated, opened.sampleRate);
    return { frames: addFrames(stated, opened.lookAhead), how: 'stated', sure: true };
  }

  /** Of the input; 1 until it is open. */
  get inputChannels(): number {
    return this.#opened?.inputChannels ?? 1;
  }

  /** Frames of the input that are held at least; 0 until it is open. */
  get heldFrames(): Frames {
    const opened = this.#opened;
    return opened === null ? frames(0) : framesFromSeconds(opened.heldSeconds, opened.sampleRate);
  }

  useChannels(channels: readonly number[]): void {
    this.#channels = channels;
  }

  /** An input channel that nothing is played into; null: none. */
  spareChannel(channel: number | null): void {
    this.#spare = channel;
  }

  /** What is used where the player states nothing; null: nothing was measured. */
  useMeasured(roundTrip: RoundTrip | null): void {
    this.#measured = roundTrip;
    this.send({ type: 'set-round-trip', roundTrip: this.roundTrip });
    this.#showOpened();
  }

  stateRoundTrip(ms: Milliseconds | null): void {
    this.#stated = ms;
    this.#showOpened();
  }

  /**
   * @param prepare tells the engine what it needs to know; the sound is open for the player when that is done.
   * @returns whether it is open now.
   */
  async open(song: Song, setUp: SetUp, prepare: (opened: SoundOpened) => Promise<void>): Promise<boolean> {
    if (this.#opened !== null) return true;
    this.#show({ state: 'opening' });
    const result = await this.#sound.open({
      sampleRate: song.sampleRate,
      pace: setUp.pace,
      inputId: setUp.inputId,
      outputId: setUp.outputId,
    });
    // Also where it was refused: another device may be there.
    this.#devices = await this.#sound.devices();
    if (!result.ok) {
      this.#show({ state: 'refused', reason: result.reason });
      return false;
    }
    this.#opened = result.value;
    this.#readings.begin();
    this.#change = null;
    this.plan = STOPPED;
    await prepare(result.value);
    this.#isReady = this.isOpen;
    this.#showOpened();
    return this.#isReady;
  }

  send(command: EngineCommand): void {
    if (this.#opened !== null) this.#sound.send(command);
  }

  heardAt(time: Milliseconds): Frames {
    return this.#opened === null ? frames(0) : this.#sound.heardAt(time);
  }

  inputPeak(): number | null {
    return this.#sound.inputPeak();
  }

  #observed(observation: SoundObservation): void {
    const before = this.health;
    this.#readings.observe(observation);
    if (isChange(observation)) this.#noteChange(observation);
    else if (this.health !== before) this.#events.changed();
    this.#events.observed(observation);
  }

  #noteChange(change: SoundChange): void {
    if (change.type === 'devices-changed') this.#devices = change.devices;
    else this.#change = change;
    this.#events.changed();
  }

  /** What is open is of no use. */
  async refuse(reason: SoundRefusal): Promise<void> {
    await this.leave();
    this.#show({ state: 'refused', reason });
  }

  /** Closes what is open, to be opened otherwise. */
  async leave(): Promise<void> {
    if (this.#opened === null) return;
    this.#gone();
    this.#show({ state: 'asleep' });
    await this.#sound.close();
  }

  /** What was open is gone: the next press opens it anew. */
  #interrupted(why: SoundInterruption): void {
    if (this.#opened === null) return;
    this.#showOpened(why);
    this.#gone();
    this.#events.changed();
    void this.#sound.close();
  }

  #gone(): void {
    this.#opened = null;
    this.#isReady = false;
    this.#measured = null;
    this.plan = STOPPED;
    this.#events.interrupted();
  }

  #showOpened(interruption: SoundInterruption | null = null): void {
    const opened = this.#opened;
    if (opened === null || (interruption === null && !this.#isReady)) return;
    const { frames: length, how } = this.roundTrip;
    this.#show({
      state: 'open',
      inputName: opened.inputName,
      inputChannels: opened.inputChannels,
      sampleRate: opened.sampleRate,
      roundTrip: { frames: length, ms: deviceMilliseconds(length, opened.lookAhead, opened.sampleRate), how },
      processing: opened.processing,
      interruption,
    });
  }

  #show(view: SoundView): void {
    this.#view = view;
    this.#events.changed();
  }
}

function isChange(observation: SoundObservation): observation is SoundChange {
  switch (observation.type) {
    case 'devices-changed':
    case 'default-changed':
    case 'input-back':
    case 'input-muted':
    case 'page-shown':
    case 'permission-changed':
      return true;
    default:
      return false;
  }
}

/** A round trip as the player knows it: outside the engine, without the limiter's look-ahead. */
export const deviceMilliseconds = (roundTrip: Frames, lookAhead: Frames, rate: SampleRate): Milliseconds =>
  millisecondsFromFrames(frames(roundTrip - lookAhead), rate);
