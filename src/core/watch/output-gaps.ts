/** The pauses of the processor, gathered into gaps of the output and sized as soon as both clocks have been read. */
import type { CallPause, CallPhase, OutputClock } from './observations.js';
import { ClockDrift } from './clock-drift.js';
import type { WatchSetup } from './history.js';
import { ALONE_MS, READ_AFTER_MS, readGap } from './gap-reading.js';
import { openSighting, type Sighting } from './sighting.js';
import { TimedValues } from './timed-values.js';

/** Pauses that follow each other within so long are one gap. */
const MERGE_MS = 300;
/** Readings may be so late. */
const LATE_MS = 500;
/** How long one clock waits for the other. */
const PATIENCE_MS = 800;
/** What is claimed of a gap that was read. */
const READ_WITHIN_MS = 0.5;
/** Gaps that are kept to see whether a late one lies beside them. */
const REMEMBERED = 8;

interface Gap {
  fromMs: number;
  toMs: number;
  /** Mix frames of the blocks after its first and its last pause. */
  first: number;
  last: number;
  read: boolean;
  sighting: Sighting;
}

/** Hands over each sighting twice: when the gap is seen, and when it has been read in place of the first. */
export class OutputGaps {
  readonly #framesPerMs: number;
  readonly #baseLatency: number;
  readonly #bridgedMs: number;
  readonly #sighted: (next: Sighting, instead: Sighting | null) => void;
  readonly #offsets = new TimedValues();
  readonly #phases = new TimedValues();
  readonly #drift: ClockDrift;
  /** In order of time. */
  readonly #gaps: Gap[] = [];

  constructor(setup: WatchSetup, sighted: (next: Sighting, instead: Sighting | null) => void) {
    const framesPerMs = setup.sampleRate / 1000;
    this.#framesPerMs = framesPerMs;
    this.#baseLatency = setup.baseLatency;
    this.#bridgedMs = setup.bridged;
    this.#sighted = sighted;
    this.#drift = new ClockDrift(framesPerMs);
  }

  pause({ at, milliseconds, endedAt }: CallPause): void {
    if (milliseconds < this.#bridgedMs) return;
    const fromMs = endedAt - milliseconds;
    this.#drift.interrupt(endedAt);
    const near = this.#gaps.find((gap) => fromMs - gap.toMs < MERGE_MS && gap.fromMs - endedAt < MERGE_MS);
    if (near === undefined) {
      const gap = { fromMs, toMs: endedAt, first: at, last: at, read: false };
      const sighting = this.#sightingOf(gap, 'being-read', null);
      this.#insert({ ...gap, sighting });
      this.#sighted(sighting, null);
      return;
    }
    near.fromMs = Math.min(near.fromMs, fromMs);
    near.toMs = Math.max(near.toMs, endedAt);
    near.first = Math.min(near.first, at);
    near.last = Math.max(near.last, at);
    near.read = false;
    this.#doubtNeighbours(near);
    this.#replace(near, this.#sightingOf(near, 'being-read', null));
  }

  clock({ at, heard }: OutputClock): void {
    this.#offsets.add(at, heard - at * this.#framesPerMs);
    this.#drift.follow(this.#offsets);
    this.#readDue();
  }

  phase({ at, behind }: CallPhase): void {
    this.#phases.add(at, behind);
    this.#readDue();
  }

  #readDue(): void {
    const early = Math.min(this.#offsets.latest, this.#phases.latest);
    const late = Math.max(this.#offsets.latest, this.#phases.latest);
    for (const gap of this.#gaps) {
      if (gap.read) continue;
      const due = gap.toMs + READ_AFTER_MS + LATE_MS;
      if (early >= due || late >= due + PATIENCE_MS) this.#read(gap);
    }
  }

  #read(gap: Gap): void {
    const at = this.#gaps.indexOf(gap);
    const { fromMs, toMs } = gap;
    const before = this.#gaps[at - 1]?.toMs ?? -Infinity;
    const after = this.#gaps[at + 1]?.fromMs ?? Infinity;
    const reading = readGap(
      { fromMs, toMs, before, after },
      { framesPerMs: this.#framesPerMs, offsets: this.#offsets, phases: this.#phases, drift: this.#drift.perMs },
    );
    gap.read = true;
    const { type } = reading;
    const kind = type !== 'read' ? type : reading.frames === 0 ? 'bridged' : 'output-gap';
    this.#replace(gap, this.#sightingOf(gap, kind, type === 'read' ? reading.frames : null));
  }

  #insert(gap: Gap): void {
    const behind = this.#gaps.findIndex(({ fromMs }) => fromMs > gap.fromMs);
    this.#gaps.splice(behind < 0 ? this.#gaps.length : behind, 0, gap);
    this.#doubtNeighbours(gap);
    const oldest = this.#gaps[0];
    if (this.#gaps.length <= REMEMBERED || oldest === undefined) return;
    // Where the clocks are not read any more, it is not waited for them.
    if (!oldest.read) this.#read(oldest);
    this.#gaps.shift();
  }

  /** What was read before this one was known does not hold. */
  #doubtNeighbours(gap: Gap): void {
    for (const other of this.#gaps) {
      const apart = Math.max(other.fromMs - gap.toMs, gap.fromMs - other.toMs);
      if (other === gap || !other.read || apart >= ALONE_MS) continue;
      this.#replace(other, this.#sightingOf(other, 'gaps-together', null));
    }
  }

  #replace(gap: Gap, next: Sighting): void {
    const instead = gap.sighting;
    gap.sighting = next;
    this.#sighted(next, instead);
  }

  /**
   * A gap lies about a base latency before the frame whose call was late (29 of 30, measured on one machine): its place
   * reaches as far again to each side.
   */
  #sightingOf(gap: Omit<Gap, 'sighting'>, kind: Sighting['kind'], shift: number | null): Sighting {
    const longest = (gap.toMs - gap.fromMs) * this.#framesPerMs;
    const from = gap.first - 2 * this.#baseLatency;
    if (shift === null) return openSighting(kind, 'mix', from, gap.last, [0, longest]);
    const within = READ_WITHIN_MS * this.#framesPerMs;
    const range = [shift - within, shift + within] as const;
    return { kind, axis: 'mix', from, to: gap.last, shift, how: 'read', within, range };
  }
}
