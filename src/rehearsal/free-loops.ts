/**
 * Loops without a tempo, on the page's side: it listens round both presses while the audio comes in, and says where the
 * loop begins and how long it is as soon as enough was captured. Driven by the engine's reports alone.
 */
import { listenTo } from '../core/listen/excerpt.js';
import type { FreeLoop } from '../core/loop/free-loop.js';
import { freeLoop, LISTEN_AFTER_SECONDS, PRESS_REACH_SECONDS } from '../core/loop/free-loop.js';
import type { EngineReport } from '../core/render/commands.js';
import type { SampleRate } from '../core/units/index.js';
import { frames } from '../core/units/index.js';
import { RecentSound } from './recent-sound.js';

type Report<Type extends EngineReport['type']> = Extract<EngineReport, { type: Type }>;
export type FreeClosed = Report<'free-closed'>;

/** The onset finder says nothing of the first 45 ms of an excerpt. */
const LISTEN_BEFORE_SECONDS = PRESS_REACH_SECONDS + 0.2;
/** Both excerpts and the longest time between a capture and its report lie well within this. */
const HELD_SECONDS = 4;

interface Stretch {
  readonly at: number;
  readonly samples: Float32Array;
}

export class FreeLoops {
  readonly #rate: SampleRate;
  readonly #found: (closed: FreeClosed, loop: FreeLoop) => void;
  readonly #recent: RecentSound;
  /** Capture frames of the recordings' first frames. */
  readonly #starts = new Map<number, number>();
  /** Capture frame of the first press; null while no loop is being played. */
  #press: number | null = null;
  #head: Stretch | null = null;
  #closed: FreeClosed | null = null;

  /** @param found is told of a loop once it is known: at most LISTEN_AFTER_SECONDS and a capture buffer after its end. */
  constructor(rate: SampleRate, found: (closed: FreeClosed, loop: FreeLoop) => void) {
    this.#rate = rate;
    this.#found = found;
    this.#recent = new RecentSound(Math.ceil(HELD_SECONDS * rate));
  }

  /** The loop whose end is being looked for. */
  get closing(): FreeClosed | null {
    return this.#closed;
  }

  /** A loop is being played; its first press is this capture frame. Calling it again changes nothing. */
  begin(press: number): void {
    if (press === this.#press) return;
    this.letGo();
    this.#press = press;
  }

  /** Playing has ended: a loop that was not closed by then is none. */
  stop(): void {
    if (this.#closed === null) this.letGo();
  }

  /** Nothing will come of it. */
  letGo(): void {
    this.#press = null;
    this.#head = null;
    this.#closed = null;
  }

  started(report: Report<'recording-started'>): void {
    this.#starts.set(report.audio, report.at);
  }

  /** A recording of the past says nothing of what is being played. */
  leaveOut(audio: number): void {
    this.#starts.delete(audio);
  }

  /** @param channels those that are being played. */
  captured(report: Report<'captured'>, channels: readonly number[]): void {
    const starts = this.#starts.get(report.audio);
    if (starts === undefined) return;
    this.#recent.add(starts + report.start, report.buffer, report.frames, channels);
    if (this.#press === null) return;
    if (this.#isHeard(this.#press)) this.#head ??= this.#round(this.#press);
    this.#look();
  }

  ended(report: Report<'recording-ended'>): void {
    this.#starts.delete(report.audio);
  }

  /** The second press. */
  close(report: FreeClosed): void {
    this.#closed = report;
    this.#look();
  }

  #look(): void {
    const closed = this.#closed;
    const press = this.#press;
    const starts = closed === null ? undefined : this.#starts.get(closed.audio);
    if (closed === null || press === null || starts === undefined || !this.#isHeard(starts + closed.to)) return;
    const excerptOf = ({ at, samples }: Stretch) => listenTo(samples, frames(at - starts), this.#rate);
    const head = excerptOf(this.#head ?? this.#round(press));
    const tail = excerptOf(this.#round(starts + closed.to));
    this.letGo();
    this.#found(closed, freeLoop(head, tail, closed, this.#rate));
  }

  /** Whether all that matters round a press has been captured. */
  #isHeard(press: number): boolean {
    return this.#recent.end >= press + LISTEN_AFTER_SECONDS * this.#rate;
  }

  #round(press: number): Stretch {
    return this.#recent.read(press - LISTEN_BEFORE_SECONDS * this.#rate, press + LISTEN_AFTER_SECONDS * this.#rate);
  }
}
