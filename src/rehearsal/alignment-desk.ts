/**
 * Where the passes of one opening lie. A watch over the round trip says where it moved; passes that were recorded with
 * another round trip than held are moved to where they were played, bar by bar, and what nobody can know is marked.
 */
import type { EngineReport, RoundTrip } from '../core/render/commands.js';
import type { TakeId } from '../core/song/ids.js';
import type { Frames } from '../core/units/index.js';
import { addFrames, frames, milliseconds, subtractFrames } from '../core/units/index.js';
import type { Advice } from '../core/watch/advice.js';
import { adviceNow } from '../core/watch/advice.js';
import type { PassAlignments } from '../core/watch/alignments.js';
import { alignmentsOf } from '../core/watch/alignments.js';
import type { TripHistory } from '../core/watch/history.js';
import type { Observation } from '../core/watch/observations.js';
import { RoundTripWatch } from '../core/watch/round-trip-watch.js';
import type { BaseTrip } from '../core/watch/trips.js';
import { calmStretches } from '../core/watch/trips.js';
import type { SoundOpened } from '../ports/sound.js';
import { filledByWatch, mixedAt } from './lost-references.js';

type Closed = Extract<EngineReport, { type: 'layer-closed' }>;

interface WatchedPass {
  readonly takes: readonly TakeId[];
  /** Capture frames of its bar lines, one more than it has bars. */
  readonly lines: readonly Frames[];
  readonly base: BaseTrip;
  /** What is known better than by the watch; null where nothing is. */
  readonly settled: PassAlignments | null;
}

export interface AlignmentPorts {
  /** What is known of a take now. @returns whether the song says so; else it is told again. */
  readonly aligned: (take: TakeId, found: PassAlignments) => boolean;
  /** The round trip that holds now is another one than was known, or is doubted. */
  readonly tripNow: (trip: RoundTrip, within: Frames) => void;
}

/** Disturbances are sized within seconds: looking for them more often finds nothing more. */
const LOOK_MS = 500;
/**
 * The long buffer bridged every stall up to so long, in trials on one machine; calls come in bursts of a base latency, so
 * a pause between two calls may be longer by one of those. The short one bridges nothing that can be relied on.
 */
const BRIDGED_STALL_MS = 130;

export class AlignmentDesk {
  readonly #ports: AlignmentPorts;
  #watch: RoundTripWatch | null = null;
  #seen: TripHistory | null = null;
  #passes: readonly WatchedPass[] = [];
  #base: BaseTrip | null = null;
  #looked = -Infinity;
  readonly #letGo = new Set<TakeId>();

  constructor(ports: AlignmentPorts) {
    this.#ports = ports;
  }

  opened({ sampleRate, baseLatency, capture, pace, estimatedRoundTrip }: SoundOpened): void {
    this.#watch = new RoundTripWatch({
      sampleRate,
      baseLatency,
      bridged: milliseconds(pace === 'steady' ? BRIDGED_STALL_MS + (1000 * baseLatency) / sampleRate : 0),
      expectedRoundTrip: estimatedRoundTrip,
      capture,
      openedAt: frames(0),
    });
    this.#seen = null;
    this.#passes = [];
  }

  closed(): void {
    this.#watch = null;
    this.#passes = [];
    this.#base = null;
  }

  /** The round trip that passes are placed with from now on. `at`: the capture frame at which it held; null for a guess. */
  use({ frames: roundTrip, how, sure }: RoundTrip, at: Frames | null): void {
    this.#base = { roundTrip, how, sure, at };
    this.#looked = -Infinity;
  }

  observe(observation: Observation): void {
    this.#watch?.observe(observation);
  }

  get advice(): Advice {
    const history = this.#watch?.history();
    return history === undefined ? { type: 'nothing' } : adviceNow(history);
  }

  /** Disturbances that moved it since the sound was opened. */
  get steps(): number {
    const { disturbances } = this.#watch?.history() ?? { disturbances: [] };
    return disturbances.filter(({ shift }) => shift !== null && shift !== 0).length;
  }

  /**
   * A pass has become takes.
   * @param start capture frame of its body's first frame.
   * @param lineOf frames from a bar line of the plan to the engine's origin.
   */
  watch(takes: readonly TakeId[], closed: Closed, start: Frames, lineOf: (bar: number) => Frames): void {
    const { bars, startBar, roundTrip } = closed;
    const first = lineOf(startBar);
    const lines = Array.from({ length: bars + 1 }, (_, bar) =>
      addFrames(start, subtractFrames(lineOf(startBar + bar), first)),
    );
    const { frames: length, how, sure } = roundTrip;
    const at = this.#base?.roundTrip === length ? this.#base.at : null;
    this.#passes = [...this.#passes, { takes, lines, base: { roundTrip: length, how, sure, at }, settled: null }];
    this.#seen = null;
  }

  /** Where a pass lies is known better: the watch leaves it alone from now on, but for bars whose reference was lost. */
  settle(takes: readonly TakeId[], found: PassAlignments): void {
    const mine = takes.filter((take) => !this.#letGo.has(take));
    this.#seen = null;
    this.#looked = -Infinity;
    if (!this.#passes.some((pass) => pass.takes.some((take) => mine.includes(take)))) {
      for (const take of mine) this.#ports.aligned(take, found);
      return;
    }
    this.#passes = this.#passes.map((pass) =>
      pass.takes.some((take) => mine.includes(take)) ? { ...pass, settled: found } : pass,
    );
  }

  /** The player has moved it by hand: the watch leaves it alone from now on. */
  letGo(take: TakeId): void {
    this.#letGo.add(take);
    this.#passes = this.#passes.map((pass) => ({ ...pass, takes: pass.takes.filter((each) => each !== take) }));
  }

  /** Time has passed. */
  look(now: number): void {
    if (this.#watch === null || now - this.#looked < LOOK_MS) return;
    this.#looked = now;
    const history = this.#watch.history();
    if (history === this.#seen) return;
    this.#seen = history;
    this.#findTripNow(history);
    for (const { takes, lines, base, settled } of this.#passes) {
      const found =
        settled === null
          ? alignmentsOf(lines, base, history)
          : filledByWatch(settled, mixedAt(lines, base.roundTrip), history);
      for (const take of takes) if (!this.#ports.aligned(take, found)) this.#seen = null;
    }
  }

  #findTripNow(history: TripHistory): void {
    if (this.#base === null) return;
    const now = calmStretches(this.#base, history).at(-1);
    if (now === undefined) return;
    const { roundTrip, how, sure, within } = now;
    this.#ports.tripNow({ frames: roundTrip, how, sure }, within);
  }
}
