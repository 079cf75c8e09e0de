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
import type { Sound, SoundInterruption, SoundOpened } from '../ports/sound.js';
import type { SoundView } from './snapshot.js';

const STOPPED: Plan = { type: 'stopped', at: frames(0) };

export interface SoundEvents {
  report(report: EngineReport): void;
  interrupted(): void;
  changed(): void;
}

export class SoundDesk {
  readonly #sound: Sound;
  readonly #events: SoundEvents;
  #view: SoundView = { state: 'asleep' };
  #opened: SoundOpened | null = null;
  #stated: Milliseconds | null = null;
  #channels: readonly number[] = [0];
  plan: Plan = STOPPED;

  constructor(sound: Sound, events: SoundEvents) {
    this.#sound = sound;
    this.#events = events;
    sound.listen({
      report: (report) => {
        events.report(report);
      },
      interrupted: (why) => {
        this.#interrupted(why);
      },
    });
  }

  get view(): SoundView {
    return this.#view;
  }

  get isOpen(): boolean {
    return this.#opened !== null;
  }

  get isOpening(): boolean {
    return this.#view.state === 'opening';
  }

  /** The input channels in use, from 0, each once: at least one, and none that the input does not have. */
  get channels(): readonly number[] {
    const there = this.#opened?.inputChannels ?? 1;
    const used = [...new Set(this.#channels)].filter((channel) => channel < there);
    return used.length > 0 ? used : [Math.min(this.#channels[0] ?? 0, there - 1)];
  }

  /** The first of them. */
  get channel(): number {
    return this.channels[0] ?? 0;
  }

  get roundTrip(): RoundTrip {
    const opened = this.#opened;
    if (opened === null) return { frames: frames(0), how: 'estimated', sure: false };
    if (this.#stated === null) return { frames: opened.estimatedRoundTrip, how: 'estimated', sure: false };
    const stated = framesFromMilliseconds(this.#stated, opened.sampleRate);
    return { frames: addFrames(stated, opened.lookAhead), how: 'stated', sure: true };
  }

  /** Frames of the input that are held at least; 0 until it is open. */
  get heldFrames(): Frames {
    const opened = this.#opened;
    return opened === null ? frames(0) : framesFromSeconds(opened.heldSeconds, opened.sampleRate);
  }

  useChannels(channels: readonly number[]): void {
    this.#channels = channels;
  }

  stateRoundTrip(ms: Milliseconds | null): void {
    this.#stated = ms;
    this.#showOpened();
  }

  /**
   * @param prepare tells the engine what it needs to know; the sound is open for the player when that is done.
   * @returns whether it is open now.
   */
  async open(song: Song, prepare: () => Promise<void>): Promise<boolean> {
    if (this.#opened !== null) return true;
    this.#show({ state: 'opening' });
    const result = await this.#sound.open({ sampleRate: song.sampleRate });
    if (!result.ok) {
      this.#show({ state: 'refused', reason: result.reason });
      return false;
    }
    this.#opened = result.value;
    this.plan = STOPPED;
    await prepare();
    this.#showOpened();
    return this.isOpen;
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

  /** What was open is gone: the next press opens it anew. */
  #interrupted(why: SoundInterruption): void {
    if (this.#opened === null) return;
    this.#showOpened(why);
    this.#opened = null;
    this.plan = STOPPED;
    this.#events.interrupted();
    this.#events.changed();
    void this.#sound.close();
  }

  #showOpened(interruption: SoundInterruption | null = null): void {
    const opened = this.#opened;
    if (opened === null) return;
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

/** A round trip as the player knows it: outside the engine, without the limiter's look-ahead. */
const deviceMilliseconds = (roundTrip: Frames, lookAhead: Frames, rate: SampleRate): Milliseconds =>
  millisecondsFromFrames(frames(roundTrip - lookAhead), rate);
