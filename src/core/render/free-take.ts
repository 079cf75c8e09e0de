/**
 * Recording without a tempo: from a press to a press, as they were heard. What a player does at a heard frame reaches
 * the ring a round trip later, whether or not anything sounds. Audio thread; runs while commands are handled.
 */
import type { Frames, SampleRate } from '../units/index.js';
import { frames } from '../units/index.js';
import type { EngineReport, RoundTrip } from './commands.js';
import { PREROLL_SECONDS, TAIL_SECONDS } from './passes.js';
import type { Recorder } from './recorder.js';

interface Open {
  readonly audio: number;
  /** Capture frame of the recording's first frame. */
  readonly starts: number;
  readonly at: Frames;
  readonly channels: readonly number[];
  readonly roundTrip: RoundTrip;
  /** Once it has been closed it is only held, until it plays. */
  readonly closed: boolean;
}

export class FreeTake {
  readonly #recorder: Recorder;
  readonly #rate: SampleRate;
  readonly #report: (report: EngineReport) => void;
  #open: Open | null = null;

  constructor(recorder: Recorder, rate: SampleRate, report: (report: EngineReport) => void) {
    this.#recorder = recorder;
    this.#rate = rate;
    this.#report = report;
  }

  begin(at: Frames, channels: readonly number[], roundTrip: RoundTrip): void {
    const from = Math.max(0, at + roundTrip.frames - PREROLL_SECONDS * this.#rate);
    const { audio, starts } = this.#recorder.keep(channels, from);
    this.#open = { audio, starts, at, channels, roundTrip, closed: false };
  }

  /** The second press. What comes in for some seconds more is kept: the end is found in it. */
  end(to: Frames): void {
    const open = this.#open;
    if (open === null || open.closed) return;
    this.#open = { ...open, closed: true };
    const { audio, starts, at, channels, roundTrip } = open;
    this.#recorder.endAt(audio, to + roundTrip.frames + TAIL_SECONDS * this.#rate);
    this.#report({
      type: 'free-closed',
      at: to,
      audio,
      channels,
      from: frames(at + roundTrip.frames - starts),
      to: frames(to + roundTrip.frames - starts),
      heardFrom: at,
      roundTrip,
    });
  }

  /** Names where what is being recorded begins: audio, channel and frame. */
  nameBeginning(name: (audio: number, channel: number, frame: number) => void): void {
    const open = this.#open;
    if (open === null) return;
    const frame = open.at + open.roundTrip.frames - open.starts;
    for (const channel of open.channels) name(open.audio, channel, frame);
  }

  /** It plays, and a program names it. */
  letGo(): void {
    this.#open = null;
  }

  /** What was closed is the page's already. */
  drop(captured: number): void {
    const open = this.#open;
    this.#open = null;
    if (open === null || open.closed) return;
    this.#recorder.endAt(open.audio, captured);
    this.#report({ type: 'pass-dropped', at: frames(captured), pass: 0 });
  }
}
