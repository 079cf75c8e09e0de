/**
 * Where it was played: the round trip as it is measured and watched, and the takes of this opening that are moved by it.
 * The rehearsal tells it what is heard, observed and recorded.
 */
import type { EngineReport } from '../core/render/commands.js';
import type { RecordingId, TakeId } from '../core/song/ids.js';
import type { Frames, Milliseconds } from '../core/units/index.js';
import {
  addFrames,
  bars as toBars,
  frames,
  millisecondsFromFrames,
  nearestFrame,
  subtractFrames,
} from '../core/units/index.js';
import type { PassAlignments } from '../core/watch/alignments.js';
import type { Clock } from '../ports/clock.js';
import type { Library } from '../ports/library.js';
import type { SoundObservation, SoundOpened } from '../ports/sound.js';
import { AlignmentDesk } from './alignment-desk.js';
import { foundByWatch, movedBy, nameOf } from './found-places.js';
import type { Keeping } from './keeping.js';
import { ReferenceCable } from './reference-cable.js';
import { RoundTripDesk } from './round-trip-desk.js';
import type { MeasuringOrder, ReferenceOrder, RoundTripView } from './round-trip-view.js';
import type { SetUpDesk } from './set-up-desk.js';
import type { Notice } from './snapshot.js';
import type { SongDesk } from './song-desk.js';
import type { SoundDesk } from './sound-desk.js';

type Closed = Extract<EngineReport, { type: 'layer-closed' }>;

export interface RoundTripsPorts {
  readonly sound: SoundDesk;
  readonly setUp: SetUpDesk;
  readonly clock: Clock;
  readonly library: Library;
  readonly keeping: Keeping;
  readonly song: SongDesk;
  /** A take lies elsewhere now; null where nothing is to be said about it. */
  readonly moved: (notice: Notice | null) => void;
  readonly tell: (notice: Notice) => void;
  readonly changed: () => void;
}

/** A pass that has become takes. */
export interface PlacedPass {
  readonly takes: readonly TakeId[];
  readonly closed: Closed;
  readonly recording: RecordingId;
  /** Capture frame of the recording's first frame. */
  readonly recordedAt: Frames;
  /** Frames from a bar line of the plan to the engine's origin. */
  readonly lineOf: (bar: number) => Frames;
}

export class RoundTrips {
  readonly #sound: SoundDesk;
  readonly #changed: () => void;
  readonly #desk: RoundTripDesk;
  readonly #alignment: AlignmentDesk;
  readonly #cable: ReferenceCable;
  #opened: SoundOpened | null = null;

  constructor({ sound, setUp, clock, library, keeping, song, moved, tell, changed }: RoundTripsPorts) {
    this.#sound = sound;
    this.#changed = changed;
    this.#alignment = new AlignmentDesk({
      aligned: (take, found) => align(song, moved, take, found),
      tripNow: (trip, within) => {
        this.#desk.hold(trip, within);
      },
    });
    this.#cable = new ReferenceCable({
      sound,
      setUp,
      library,
      keeping,
      found: (takes, found) => {
        this.#alignment.settle(takes, found);
      },
      lost: () => {
        tell({ type: 'cable-lost' });
      },
    });
    this.#desk = new RoundTripDesk({
      sound,
      setUp,
      clock,
      found: (from, to, roundTrip, how) => {
        this.#alignment.observe({ type: 'measurement', from, to, roundTrip, how });
        this.#alignment.use(sound.roundTrip, to);
      },
      steps: () => this.#alignment.steps,
      advice: () => this.#alignment.advice,
      changed,
    });
  }

  opened(opened: SoundOpened): void {
    this.#opened = opened;
    this.#cable.opened(opened);
    this.#alignment.opened(opened);
    this.#desk.opened(opened);
    this.#alignment.use(this.#sound.roundTrip, null);
  }

  closed(): void {
    this.#opened = null;
    this.#cable.closed();
    this.#desk.closed();
    this.#alignment.closed();
  }

  measure(order: MeasuringOrder, heard: Frames): void {
    this.#desk.measure(order, heard);
  }

  check(way: MeasuringOrder['way'], heard: Frames): void {
    this.#desk.check(way, heard);
  }

  leave(): void {
    this.#desk.leave();
  }

  /** Something is to be played. */
  interrupt(): void {
    this.#desk.interrupt();
  }

  /** The player gave the figure, or took it back. */
  state(ms: Milliseconds | null): void {
    this.#sound.stateRoundTrip(ms);
    this.#sound.send({ type: 'set-round-trip', roundTrip: this.#sound.roundTrip });
    this.#alignment.use(this.#sound.roundTrip, null);
  }

  useReference(order: ReferenceOrder): void {
    if (this.#opened !== null) this.#cable.use(order);
  }

  /** A pass that was placed by what was heard is followed: where the round trip moved, its takes are moved. */
  follow({ takes, closed, recording, recordedAt, lineOf }: PlacedPass): void {
    const { bars, startBar, bodyStart, roundTrip } = closed;
    const first = subtractFrames(lineOf(startBar), subtractFrames(bodyStart, roundTrip.frames));
    const lines = Array.from({ length: bars + 1 }, (_, bar) => subtractFrames(lineOf(startBar + bar), first));
    this.#cable.expect({ takes, recording, lines, expected: roundTrip.frames, firstBar: startBar });
    const start = addFrames(recordedAt, bodyStart);
    this.#alignment.watch(takes, closed, start, lineOf);
    if (!this.#desk.isDrifting) return;
    // It lies by the line at its own time, and what was measured at other times says no more about it.
    const middle = addFrames(start, nearestFrame(closed.bodyFrames / 2));
    const trip = { roundTrip: this.#desk.tripAt(middle), how: roundTrip.how, sure: false };
    const alignments = [{ fromBar: toBars(0), ...trip, within: frames(0) }];
    this.#alignment.settle(takes, { alignments, marks: [], proved: false });
  }

  /** The player has moved it by hand. */
  letGo(take: TakeId): void {
    this.#alignment.letGo(take);
  }

  /** Frames [0, stored) of a recording are in storage. */
  stored(recording: RecordingId, stored: Frames): void {
    this.#cable.stored(recording, stored);
  }

  /** Nothing more will come of a recording. */
  ended(recording: RecordingId): void {
    this.#cable.ended(recording);
  }

  hear(report: EngineReport): void {
    this.#desk.hear(report);
  }

  observe(observation: SoundObservation): void {
    if (isOfTheTrip(observation)) this.#alignment.observe(observation);
  }

  /** Time has passed. */
  look(now: Milliseconds, heard: Frames): void {
    this.#alignment.look(now);
    if (this.#desk.look(heard)) this.#changed();
  }

  view(heard: Frames): RoundTripView | null {
    const view = this.#desk.view(heard);
    return view === null || this.#opened === null ? null : { ...view, reference: this.#cable.view(this.#opened) };
  }
}

/** Where a take lies is known. @returns whether the song says so now. */
function align(song: SongDesk, moved: RoundTripsPorts['moved'], take: TakeId, found: PassAlignments): boolean {
  const before = song.song;
  const edit = foundByWatch(before, take, found);
  if (edit === null || song.apply(edit) !== null) return true;
  // While something could be put back nothing is written; it is told again.
  if (song.song === before) return false;
  const by = millisecondsFromFrames(movedBy(before, edit), before.sampleRate);
  // What is good to the millisecond is not said to have moved by less.
  const isNews = found.alignments.some(({ sure }) => sure) ? by !== 0 : Math.abs(by) >= 1;
  moved(!isNews ? null : { type: 'take-moved', name: nameOf(before, edit), ms: by });
  return true;
}

type OfTheTrip = Parameters<AlignmentDesk['observe']>[0];

/** Changes of devices and of the page are told to the player; the watch has breaks for what they mean. */
function isOfTheTrip(observation: SoundObservation): observation is Extract<SoundObservation, OfTheTrip> {
  switch (observation.type) {
    case 'call-pause':
    case 'output-clock':
    case 'call-phase':
    case 'context-lead':
    case 'zero-run':
    case 'path-shift':
    case 'break':
      return true;
    default:
      return false;
  }
}
