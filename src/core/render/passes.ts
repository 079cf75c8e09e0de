/**
 * Passes from their beginning to the layers they become: which frames of which recording they are. The body of bars
 * [a, b) is capture frames [line(a) + roundTrip, line(b) + roundTrip). Audio thread; allocates while a command is
 * handled, and one report when a pass closes.
 */
import type { Grid } from '../meter/grid.js';
import { bodyPlace } from '../program/body-place.js';
import type { ProgramGrid } from '../program/program-grid.js';
import { STANDSTILL } from '../program/program.js';
import type { Seam } from '../seam/seam.js';
import { leadHeard } from '../seam/lead.js';
import type { Pass } from '../transport/plan.js';
import type { Bars, Frames } from '../units/index.js';
import { bars, frames, nearestFrame, sampleRate } from '../units/index.js';
import type { EngineReport, PassRules, RoundTrip } from './commands.js';
import type { CutShort } from './cut-short.js';
import type { Hold, Holds } from './holds.js';
import type { OwnVoice } from './own-voice.js';
import { ownVoice } from './own-voice.js';
import type { Recorder } from './recorder.js';
import type { Tails } from './tails.js';

/** What a recording keeps at least before a pass: more where a pickup may begin earlier, less where the ring holds less. */
export const PREROLL_SECONDS = 2;
/** Own choice: room for two beats of five seconds. A bar in free time is one beat, however long. */
const LONGEST_PREROLL_SECONDS = 10.25;

interface OpenPass {
  readonly pass: Pass;
  readonly audio: number;
  readonly hold: Hold;
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
  /** Frames after which its body comes again, once it has its closing line. */
  period: number;
  /** How each channel opens, as the page has heard it. */
  readonly openings: (Seam | undefined)[];
}

interface CapturedPass {
  readonly number: number;
  /** Layers that it fills. */
  readonly parts: number;
  /** Engine frame of its closing line. */
  readonly ends: Frames;
}

export interface PassPlayers {
  readonly recorder: Recorder;
  readonly holds: Holds;
  readonly cuts: CutShort;
  readonly tails: Tails;
  readonly report: (report: EngineReport) => void;
}

export class Passes {
  readonly #with: PassPlayers;
  readonly #rate: number;
  #open: OpenPass[] = [];

  constructor(players: PassPlayers, rate: number) {
    this.#with = players;
    this.#rate = rate;
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
    const preroll = Math.max(0, bodyAt - this.#leadFrames(grid.beatsOf(pass.startBar)));
    // Where its line waits for a press, the recording does not.
    const from = starts - origin < STANDSTILL ? preroll : Math.min(preroll, this.#with.recorder.due);
    const kept = this.#with.recorder.keep(channels, from);
    const { audio } = kept;
    this.#open.push({
      pass,
      audio,
      hold: this.#with.holds.take(audio),
      channels,
      replaces,
      roundTrip,
      starts,
      origin,
      bodyStart: bodyAt - kept.starts,
      ends: null,
      endBar: null,
      period: 0,
      openings: [],
    });
    const { number } = pass;
    this.#with.report({ type: 'pass-begun', at: frames(starts), pass: number, audio, channels, replaces, roundTrip });
  }

  /**
   * Gives a pass its closing line.
   * @returns the voice of each channel, which plays it from there on; none if there is no such pass or it had a line
   * already.
   */
  close(number: number, endBar: Bars, grid: ProgramGrid): readonly OwnVoice[] {
    const open = this.#open.find((each) => each.pass.number === number);
    if (open?.ends !== null) return [];
    const ends = open.origin + grid.lineOf(endBar);
    open.ends = ends;
    open.endBar = endBar;
    open.period = periodOf(open, ends, endBar, grid);
    this.#need(open, ends);
    return open.channels.map((_, part) => this.#voiceOf(open, part, ends));
  }

  /**
   * The page has heard how a channel of a pass opens.
   * @returns the voice that plays it; null where it has no closing line yet, or is none of the passes that are coming in.
   */
  setOpening(voice: number, opening: Seam): OwnVoice | null {
    for (const open of this.#open) {
      const part = voice - open.pass.number;
      if (part < 0 || part >= open.channels.length) continue;
      open.openings[part] = opening;
      return open.ends === null ? null : this.#voiceOf(open, part, open.ends);
    }
    return null;
  }

  /**
   * Time went on after a standstill: lines that waited behind it have a place.
   * @returns the voices of passes that have their closing line.
   */
  moveLines(grid: ProgramGrid): readonly OwnVoice[] {
    const voices: OwnVoice[] = [];
    for (const open of this.#open) {
      // What lies before a standstill stays where it is, even where these are no longer the bars that it was counted in.
      if (open.ends !== null && open.ends - open.origin < STANDSTILL) continue;
      const starts = open.origin + grid.lineOf(open.pass.startBar);
      open.bodyStart += starts - open.starts;
      open.starts = starts;
      if (open.endBar === null) continue;
      const ends = open.origin + grid.lineOf(open.endBar);
      const moves = ends !== open.ends;
      open.ends = ends;
      if (!moves) continue;
      open.period = periodOf(open, ends, open.endBar, grid);
      this.#need(open, ends);
      voices.push(...open.channels.map((_, part) => this.#voiceOf(open, part, ends)));
    }
    return voices;
  }

  /** @param at capture frame. @param heard what the player heard then. @returns the voices that were to play it. */
  drop(number: number, at: number, heard: Frames): readonly number[] {
    const open = this.#open.find((each) => each.pass.number === number);
    if (open === undefined) return [];
    this.#open = this.#open.filter((each) => each !== open);
    this.#with.tails.leave(open.hold);
    this.#with.holds.letGo(open.hold, at);
    this.#with.report({ type: 'pass-dropped', at: frames(at), pass: number, heard });
    return voicesOf(open);
  }

  /**
   * Playing stops at a heard frame, before its line: what was played up to there is kept.
   * @returns the voices that were to play it.
   */
  cut(number: number, at: number): readonly number[] {
    const open = this.#open.find((each) => each.pass.number === number);
    if (open === undefined) return [];
    this.#open = this.#open.filter((each) => each !== open);
    const { hold, channels, bodyStart, starts, roundTrip } = open;
    const ends = at + roundTrip.frames;
    this.#with.tails.leave(hold);
    this.#with.cuts.add({ pass: number, channels, hold, bodyStart, bodyFrames: at - starts, ends });
    return voicesOf(open);
  }

  /**
   * Reports the pass whose body has come in and gone to the page whole, if there is one: first the audio, then the
   * layers that are made of it.
   * @param captured the capture frame after the newest.
   * @returns what it is; null if there is none. Call until it is null.
   */
  takeCaptured(captured: number): CapturedPass | null {
    for (let i = 0; i < this.#open.length; i++) {
      const open = this.#open[i];
      if (open === undefined || open.ends === null || captured < open.ends + open.roundTrip.frames) continue;
      if (!this.#with.recorder.sendUpTo(open.audio, open.ends + open.roundTrip.frames)) continue;
      this.#open.splice(i, 1);
      this.#reportClosed(open, open.ends, open.endBar ?? bars(0));
      return { number: open.pass.number, parts: open.channels.length, ends: frames(open.ends) };
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
    this.#with.tails.follow(open.hold, open.channels, ends + open.roundTrip.frames);
  }

  /** What a recording keeps before a line. `beats` as Grid says them, for the bar that begins there. */
  #leadFrames(beats: readonly number[]): number {
    const beat = nearestFrame((beats.at(-1) ?? 0) / Math.max(1, beats.length - 1));
    const heard = Math.min(leadHeard(beat, sampleRate(this.#rate)), LONGEST_PREROLL_SECONDS * this.#rate);
    return Math.max(PREROLL_SECONDS * this.#rate, heard);
  }

  #voiceOf(open: OpenPass, part: number, ends: number): OwnVoice {
    const { pass, audio, bodyStart, starts, origin } = open;
    const channel = open.channels[part] ?? 0;
    const { period } = open;
    const start = starts - origin + period;
    const body = { id: pass.number + part, audio, channel, bodyStart, bodyFrames: ends - starts, start, period };
    return ownVoice(body, open.openings[part] ?? null, this.#rate);
  }

  #reportClosed(open: OpenPass, ends: number, endBar: Bars): void {
    const { pass, roundTrip } = open;
    this.#with.report({
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

const voicesOf = ({ pass, channels }: OpenPass): readonly number[] => channels.map((_, part) => pass.number + part);

/** As the program will have it that holds the layer. What does not go round has no rounds to wait for. */
function periodOf({ pass, starts }: OpenPass, ends: number, endBar: Bars, grid: ProgramGrid): number {
  const bodyFrames = frames(ends - starts);
  const { startBar } = pass;
  if (grid.loopBars === 0) return bodyFrames;
  const { period } = bodyPlace(grid, { startBar, bars: bars(endBar - startBar), bodyFrames });
  return period < STANDSTILL / 2 ? period : bodyFrames;
}
