/**
 * Recording without a tempo: from a press to a press, as they were heard. What a player does at a heard frame reaches
 * the ring a round trip later, whether or not anything sounds. Audio thread; runs while commands are handled.
 */
import type { Frames, SampleRate } from '../units/index.js';
import { frames } from '../units/index.js';
import type { EngineReport, RoundTrip } from './commands.js';
import type { CutShort } from './cut-short.js';
import type { Hold, Holds } from './holds.js';
import { PREROLL_SECONDS } from './passes.js';
import type { Recorder } from './recorder.js';
import { TAIL_SECONDS } from './tails.js';

interface Open {
  readonly audio: number;
  readonly hold: Hold;
  /** Capture frame of the recording's first frame. */
  readonly starts: number;
  readonly at: Frames;
  readonly channels: readonly number[];
  readonly roundTrip: RoundTrip;
  /** Once it has been closed it is only held, until it plays. */
  readonly closed: boolean;
}

export interface FreePlayers {
  readonly recorder: Recorder;
  readonly holds: Holds;
  readonly cuts: CutShort;
  readonly report: (report: EngineReport) => void;
}

export class FreeTake {
  readonly #with: FreePlayers;
  readonly #rate: SampleRate;
  #open: Open | null = null;

  constructor(players: FreePlayers, rate: SampleRate) {
    this.#with = players;
    this.#rate = rate;
  }

  begin(at: Frames, channels: readonly number[], roundTrip: RoundTrip): void {
    const from = Math.max(0, at + roundTrip.frames - PREROLL_SECONDS * this.#rate);
    const { recorder, holds, report } = this.#with;
    const { audio, starts } = recorder.keep(channels, from);
    this.#open = { audio, hold: holds.take(audio), starts, at, channels, roundTrip, closed: false };
    report({ type: 'pass-begun', at, pass: 0, audio, channels, replaces: null, roundTrip });
  }

  /** The second press. What comes in for some seconds more is kept: the end is found in it. */
  end(to: Frames): void {
    const open = this.#open;
    if (open === null || open.closed) return;
    this.#open = { ...open, closed: true };
    const { audio, hold, starts, at, channels, roundTrip } = open;
    const { holds, report } = this.#with;
    holds.need(hold, to + roundTrip.frames + TAIL_SECONDS * this.#rate);
    report({
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

  /** Playing stops at a heard frame, and nobody said where the loop closes: what was played up to there is kept. */
  cut(at: number): void {
    const open = this.#open;
    this.#open = null;
    if (open === null || open.closed) return;
    const { hold, channels, roundTrip, starts } = open;
    const bodyStart = open.at + roundTrip.frames - starts;
    const ends = at + roundTrip.frames;
    this.#with.cuts.add({ pass: 0, channels, hold, bodyStart, bodyFrames: at - open.at, ends });
  }

  /** What was closed is the page's already. */
  drop(at: number, heard: Frames): void {
    const open = this.#open;
    this.#open = null;
    if (open === null || open.closed) return;
    this.#with.holds.letGo(open.hold, at);
    this.#with.report({ type: 'pass-dropped', at: frames(at), pass: 0, heard });
  }
}
