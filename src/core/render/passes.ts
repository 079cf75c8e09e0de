/**
 * Passes from their beginning to the layers they become: which frames of which recording they are. The body of bars
 * [a, b) is capture frames [line(a) + roundTrip, line(b) + roundTrip). Audio thread; allocates while a command is
 * handled, and one report when a pass closes.
 */
import type { Grid } from '../meter/grid.js';
import { STANDSTILL, VOICE_FIELDS, Voice } from '../program/program.js';
import type { Pass } from '../transport/plan.js';
import type { Bars } from '../units/index.js';
import { bars, frames } from '../units/index.js';
import type { EngineReport, PassRules, RoundTrip } from './commands.js';
import type { Recorder } from './recorder.js';

/** What a recording keeps before its first pass: room for pickups and for the seam. */
export const PREROLL_SECONDS = 2;
/** What it keeps after the last line: room for the ring of the last note. */
export const TAIL_SECONDS = 4;

interface OpenPass {
  readonly pass: Pass;
  readonly audio: number;
  readonly channels: readonly number[];
  readonly replaces: number | null;
  readonly roundTrip: RoundTrip;
  /** Engine frame of its opening line, and of song position 0. */
  starts: number;
  readonly origin: number;
  bodyStart: number;
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

  get areOpen(): boolean {
    return this.#open.length > 0;
  }

  /** The voice that an open pass is another take of; null for new layers. */
  replacedBy(number: number): number | null {
    return this.#open.find((each) => each.pass.number === number)?.replaces ?? null;
  }

  /** Number of the newest pass that is not captured whole; null if there is none. */
  get newest(): number | null {
    return this.#open.at(-1)?.pass.number ?? null;
  }

  begin(
    pass: Pass,
    origin: number,
    grid: Grid,
    { channels, replaces }: Pick<PassRules, 'channels' | 'replaces'>,
    roundTrip: RoundTrip,
  ): void {
    const starts = origin + grid.lineOf(pass.startBar);
    const bodyAt = starts + roundTrip.frames;
    const preroll = Math.max(0, bodyAt - PREROLL_SECONDS * this.#rate);
    // Where its line waits for a press, the recording does not.
    const from = starts - origin < STANDSTILL ? preroll : Math.min(preroll, this.#recorder.captured);
    const kept = this.#recorder.keep(channels, from);
    this.#open.push({
      pass,
      audio: kept.audio,
      channels,
      replaces,
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
   * @returns a row for each voice that plays it from there on, with a crossfade of `fade` frames whose rising table
   * begins at index 0 of the curves and whose falling one at index `fade`; none if there is no such pass or it had a
   * line already.
   */
  close(number: number, endBar: Bars, grid: Grid, fade: number): readonly Float64Array[] {
    const open = this.#open.find((each) => each.pass.number === number);
    if (open?.ends !== null) return [];
    const ends = open.origin + grid.lineOf(endBar);
    open.ends = ends;
    open.endBar = endBar;
    this.#need(open, ends);
    return open.channels.map((channel, part) => rowOf(open, number + part, channel, ends, fade));
  }

  /**
   * Time went on after a standstill: lines that waited behind it have a place.
   * @returns the rows, as of `close`, of passes that have their closing line.
   */
  moveLines(grid: Grid, fade: number): readonly Float64Array[] {
    const rows: Float64Array[] = [];
    for (const open of this.#open) {
      const starts = open.origin + grid.lineOf(open.pass.startBar);
      open.bodyStart += starts - open.starts;
      open.starts = starts;
      if (open.endBar === null) continue;
      const ends = open.origin + grid.lineOf(open.endBar);
      const moves = ends !== open.ends;
      open.ends = ends;
      if (!moves) continue;
      this.#need(open, ends);
      rows.push(...open.channels.map((channel, part) => rowOf(open, open.pass.number + part, channel, ends, fade)));
    }
    return rows;
  }

  /** @returns the voices that were to play it. */
  drop(number: number, at: number): readonly number[] {
    const open = this.#open.find((each) => each.pass.number === number);
    if (open === undefined) return [];
    this.#open = this.#open.filter((each) => each !== open);
    this.#endRecording(open.audio, at);
    this.#report({ type: 'pass-dropped', at: frames(at), pass: number });
    return open.channels.map((_, part) => number + part);
  }

  /**
   * Reports the pass whose body has come in and gone to the page whole, if there is one: first the audio, then the
   * layers that are made of it.
   * @param captured the capture frame after the newest.
   * @returns its number; null if there is none. Call until it is null.
   */
  takeCaptured(captured: number): number | null {
    for (let i = 0; i < this.#open.length; i++) {
      const open = this.#open[i];
      if (open === undefined || open.ends === null || captured < open.ends + open.roundTrip.frames) continue;
      if (!this.#recorder.sendUpTo(open.audio, open.ends + open.roundTrip.frames)) continue;
      this.#open.splice(i, 1);
      this.#reportClosed(open, open.ends, open.endBar ?? bars(0));
      return open.pass.number;
    }
    return null;
  }

  /** Names where the bodies of passes without a closing line begin: audio, channel and frame. */
  nameBeginnings(name: (audio: number, channel: number, frame: number) => void): void {
    for (const { ends, audio, channels, bodyStart } of this.#open) {
      if (ends === null) for (const channel of channels) name(audio, channel, bodyStart);
    }
  }

  /** A closing line that waits for a press asks for nothing yet: its recording goes on. */
  #need(open: OpenPass, ends: number): void {
    if (ends - open.origin >= STANDSTILL) return;
    const needed = ends + open.roundTrip.frames + TAIL_SECONDS * this.#rate;
    this.#recorder.needUntil(open.audio, needed);
    this.#endRecording(open.audio, needed);
  }

  /** When every pass of a recording has its closing line, it has an end: some seconds after the last of them. */
  #endRecording(audio: number, at: number): void {
    const isClosed = ({ ends, origin }: OpenPass): boolean => ends !== null && ends - origin < STANDSTILL;
    if (this.#open.every((each) => each.audio !== audio || isClosed(each))) this.#recorder.endAt(audio, at);
  }

  #reportClosed(open: OpenPass, ends: number, endBar: Bars): void {
    const { pass, roundTrip } = open;
    this.#report({
      type: 'layer-closed',
      at: frames(ends),
      pass: pass.number,
      audio: open.audio,
      channels: open.channels,
      replaces: open.replaces,
      bodyStart: frames(open.bodyStart),
      bodyFrames: frames(ends - open.starts),
      startBar: pass.startBar,
      bars: bars(endBar - pass.startBar),
      roundTrip,
    });
  }
}

/** The voice that plays a pass from its closing line on. */
function rowOf(open: OpenPass, id: number, channel: number, ends: number, fade: number): Float64Array {
  const row = new Float64Array(VOICE_FIELDS);
  const lead = Math.min(fade, open.bodyStart);
  row[Voice.id] = id;
  row[Voice.audio] = open.audio;
  row[Voice.channel] = channel;
  row[Voice.bodyStart] = open.bodyStart;
  row[Voice.bodyFrames] = ends - open.starts;
  row[Voice.lead] = lead;
  row[Voice.start] = ends - open.origin;
  row[Voice.end] = Infinity;
  row[Voice.fadeInAt] = fade - lead;
  row[Voice.fadeIn] = lead;
  row[Voice.fadeOutAt] = fade;
  row[Voice.fadeOut] = fade;
  return row;
}
