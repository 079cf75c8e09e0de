/**
 * Passes from their beginning to the layer they become: which frames of which recording they are. The body of bars
 * [a, b) is capture frames [line(a) + roundTrip, line(b) + roundTrip). Audio thread; allocates while a command is
 * handled, and one report when a pass closes.
 */
import { VOICE_FIELDS, Voice } from '../program/program.js';
import type { Grid } from '../meter/grid.js';
import type { Pass } from '../transport/plan.js';
import type { Bars } from '../units/index.js';
import { bars, frames } from '../units/index.js';
import type { EngineReport, RoundTrip } from './commands.js';
import type { Recorder } from './recorder.js';

/** What a recording keeps before its first pass: room for pickups and for the seam. */
const PREROLL_SECONDS = 2;
/** What it keeps after the last line: room for the ring of the last note. */
const TAIL_SECONDS = 4;

interface OpenPass {
  readonly pass: Pass;
  readonly audio: number;
  readonly channel: number;
  readonly roundTrip: RoundTrip;
  /** Engine frame of its opening line, and of song position 0. */
  readonly starts: number;
  readonly origin: number;
  readonly bodyStart: number;
  /** Engine frame of its closing line; null while open. */
  ends: number | null;
  endBar: Bars | null;
}

export class Passes {
  readonly #recorder: Recorder;
  readonly #rate: number;
  readonly #report: (report: EngineReport) => void;
  #open: OpenPass[] = [];

  constructor(recorder: Recorder, rate: number, report: (report: EngineReport) => void) {
    this.#recorder = recorder;
    this.#rate = rate;
    this.#report = report;
  }

  begin(pass: Pass, origin: number, grid: Grid, channel: number, roundTrip: RoundTrip): void {
    const starts = origin + grid.lineOf(pass.startBar);
    const bodyAt = starts + roundTrip.frames;
    const kept = this.#recorder.keep(channel, Math.max(0, bodyAt - PREROLL_SECONDS * this.#rate));
    this.#open.push({
      pass,
      audio: kept.audio,
      channel,
      roundTrip,
      starts,
      origin,
      bodyStart: bodyAt - kept.starts,
      ends: null,
      endBar: null,
    });
  }

  /**
   * Gives a pass its closing line.
   * @returns the row of the voice that plays it from there on, with a crossfade of `fade` frames whose rising table
   * begins at index 0 of the curves and whose falling one at index `fade`; null if there is no such pass or it had a
   * line already.
   */
  close(number: number, endBar: Bars, grid: Grid, fade: number): Float64Array | null {
    const open = this.#open.find((each) => each.pass.number === number);
    if (open?.ends !== null) return null;
    open.ends = open.origin + grid.lineOf(endBar);
    open.endBar = endBar;
    if (this.#open.every((each) => each.ends !== null)) {
      const last = Math.max(...this.#open.map((each) => (each.ends ?? 0) + each.roundTrip.frames));
      this.#recorder.endAt(last + TAIL_SECONDS * this.#rate);
    }
    const row = new Float64Array(VOICE_FIELDS);
    const lead = Math.min(fade, open.bodyStart);
    row[Voice.id] = number;
    row[Voice.audio] = open.audio;
    row[Voice.channel] = open.channel;
    row[Voice.bodyStart] = open.bodyStart;
    row[Voice.bodyFrames] = open.ends - open.starts;
    row[Voice.lead] = lead;
    row[Voice.start] = grid.lineOf(endBar);
    row[Voice.end] = Infinity;
    row[Voice.fadeInAt] = fade - lead;
    row[Voice.fadeIn] = lead;
    row[Voice.fadeOutAt] = fade;
    row[Voice.fadeOut] = fade;
    return row;
  }

  drop(number: number, at: number): void {
    const open = this.#open.find((each) => each.pass.number === number);
    if (open === undefined) return;
    this.#open = this.#open.filter((each) => each !== open);
    if (this.#open.length === 0) this.#recorder.endAt(at);
    this.#report({ type: 'pass-dropped', at: frames(at), pass: number });
  }

  /**
   * Reports the pass whose body has come in whole, if there is one.
   * @param captured the capture frame after the newest.
   * @returns its number; null if there is none. Call until it is null.
   */
  takeCaptured(captured: number): number | null {
    for (let i = 0; i < this.#open.length; i++) {
      const open = this.#open[i];
      if (open === undefined || open.ends === null || captured < open.ends + open.roundTrip.frames) continue;
      this.#open.splice(i, 1);
      this.#reportClosed(open, open.ends, open.endBar ?? 0);
      return open.pass.number;
    }
    return null;
  }

  #reportClosed(open: OpenPass, ends: number, endBar: number): void {
    const { pass, roundTrip } = open;
    // First the audio, then the layer that is made of it.
    this.#recorder.sendUpTo(open.audio, ends + roundTrip.frames);
    this.#report({
      type: 'layer-closed',
      at: frames(ends),
      pass: pass.number,
      audio: open.audio,
      channel: open.channel,
      bodyStart: frames(open.bodyStart),
      bodyFrames: frames(ends - open.starts),
      startBar: pass.startBar,
      bars: bars(endBar - pass.startBar),
      roundTrip,
    });
  }
}
