/**
 * The input, sent to the player's own ears: into the foldback only, never into the house or a recording. Off until a
 * command says that the player has headphones on; a microphone before an open loudspeaker howls. The guard listens all
 * the while, and silences it.
 */
import type { Frames, Gain, SampleRate } from '../units/index.js';
import type { HowlVerdict } from './howl-guard.js';
import { HowlGuard } from './howl-guard.js';
import { usableGain } from './levels.js';
import { Ramp } from './ramp.js';

const RAMP_SECONDS = 0.02;
/** For silencing a howl and for coming back after it was none. */
const GUARD_RAMP_SECONDS = 0.01;

/** Audio thread; allocates in the constructor only. */
export class Monitor {
  readonly #guard: HowlGuard;
  /** Of each input channel. */
  readonly #gains: readonly Ramp[];
  /** 1, and 0 while the guard keeps it silent. */
  readonly #open: Ramp;
  readonly #inUse: boolean[];
  #on = false;
  #gain = 1;
  #howled = false;

  constructor(rate: SampleRate, channels: number) {
    const ramp = Math.max(1, Math.round(RAMP_SECONDS * rate));
    this.#guard = new HowlGuard(rate);
    this.#gains = Array.from({ length: channels }, () => new Ramp(0, ramp));
    this.#open = new Ramp(1, Math.max(1, Math.round(GUARD_RAMP_SECONDS * rate)));
    this.#inUse = Array.from({ length: channels }, (_, channel) => channel === 0);
  }

  /** Turns it on or off from an engine frame on. After a howl, turning it on is the only way back. */
  set(on: boolean, gain: Gain, at: Frames): void {
    if (on && !this.#on) {
      this.#guard.reset();
      if (this.#open.target < 1) this.#open.moveTo(1, at);
    }
    this.#on = on;
    this.#gain = usableGain(gain);
    this.#move(at);
  }

  get isOn(): boolean {
    return this.#on;
  }

  /** Which channels of the input are heard, from 0. */
  useChannels(channels: readonly number[], at: Frames): void {
    for (let channel = 0; channel < this.#inUse.length; channel++) this.#inUse[channel] = channels.includes(channel);
    this.#move(at);
  }

  /** Frames from the mix to the input: how soon feedback ends when the monitor does. */
  setRoundTrip(roundTrip: Frames): void {
    this.#guard.setRoundTrip(roundTrip);
  }

  /** Whether it was muted for good since the last call. */
  takeHowled(): boolean {
    const howled = this.#howled;
    this.#howled = false;
    return howled;
  }

  /**
   * Adds the input at [from, from + count) to `into`, at engine frames from `frame` on. A channel that is missing is
   * silence.
   */
  add(input: readonly Float32Array[], from: number, frame: number, count: number, into: Float64Array): void {
    const fades = this.#fades(frame);
    if (!this.#on && !fades) return;
    const guarded = this.#on;
    for (let i = 0; i < count; i++) {
      let sounding = 0;
      let wanted = 0;
      for (let channel = 0; channel < this.#gains.length; channel++) {
        const sample = input[channel]?.[from + i] ?? 0;
        const ramp = this.#gains[channel];
        if (ramp === undefined) continue;
        wanted += sample * ramp.target;
        if (fades) sounding += sample * ramp.at(frame + i);
      }
      into[i] = (into[i] ?? 0) + (fades ? sounding : wanted) * this.#openness(frame + i);
      const verdict = guarded ? this.#guard.push(wanted) : 'nothing';
      if (verdict !== 'nothing') this.#obey(verdict, frame + i + 1);
    }
  }

  /** What the guard lets through at an engine frame, 0 … 1. */
  #openness(frame: number): number {
    return this.#open.movesAfter(frame) ? this.#open.at(frame) : this.#open.target;
  }

  #obey(verdict: HowlVerdict, from: number): void {
    switch (verdict) {
      case 'nothing':
        break;
      case 'silence':
        this.#open.moveTo(0, from);
        break;
      case 'sound-again':
        this.#open.moveTo(1, from);
        break;
      case 'howl':
        // Silent by now: the channels' gains can go without a ramp.
        this.#on = false;
        this.#howled = true;
        for (const ramp of this.#gains) ramp.set(0);
        break;
    }
  }

  #move(at: Frames): void {
    for (let channel = 0; channel < this.#gains.length; channel++) {
      const wanted = this.#on && this.#inUse[channel] === true ? this.#gain : 0;
      const ramp = this.#gains[channel];
      if (ramp !== undefined && wanted !== ramp.target) ramp.moveTo(wanted, at);
    }
  }

  #fades(frame: number): boolean {
    let fades = false;
    for (let channel = 0; channel < this.#gains.length; channel++) {
      fades ||= this.#gains[channel]?.movesAfter(frame) === true;
    }
    return fades;
  }
}
