/**
 * Seams: once a pass and what rang after it are in storage, its take is listened to, and what is heard becomes a silent
 * edit. The same for takes that are found undecided: at opening, or after a change that makes them so.
 *
 * A silent edit has to wait while something could be put back (see core/history). What was heard holds all the same:
 * `song` is the song as it should sound.
 */
import { hearSeam, leadHeard } from '../core/seam/hear.js';
import type { Seam } from '../core/seam/seam.js';
import { applyEdit } from '../core/song/apply-edit.js';
import type { RecordingId, TakeId } from '../core/song/ids.js';
import { everyLayer } from '../core/song/queries.js';
import type { Song, Take } from '../core/song/song.js';
import { addFrames, frames, nearestFrame } from '../core/units/index.js';
import type { Library } from '../ports/library.js';
import type { Keeping } from './keeping.js';
import type { SongDesk } from './song-desk.js';
import type { UndecidedTake } from './undecided.js';
import { decisionFor, undecidedTakes } from './undecided.js';

/** A take whose tail is still coming in. */
interface Coming {
  readonly recording: RecordingId;
  /** Frame of the recording at which its tail ends. */
  readonly until: number;
}

export interface SeamsPorts {
  readonly library: Library;
  readonly keeping: Keeping;
  readonly desk: SongDesk;
  /** Something was heard: what plays should be compiled anew. */
  readonly changed: () => void;
}

export class Seams {
  readonly #ports: SeamsPorts;
  readonly #coming = new Map<TakeId, Coming>();
  readonly #ended = new Set<RecordingId>();
  /** Engine frames at which takes ended, and at which passes began. */
  readonly #ends = new Map<TakeId, number>();
  readonly #beginnings = new Map<number, number>();
  readonly #heard = new Map<string, Seam>();
  readonly #asked = new Set<string>();
  #waiting: (() => void)[] = [];

  constructor(ports: SeamsPorts) {
    this.#ports = ports;
  }

  /** The song with all that was heard. */
  get song(): Song {
    return undecidedTakes(this.#ports.desk.song).reduce((song, undecided) => {
      const seam = this.#knownOf(undecided);
      const after = seam === null ? null : applyEdit(song, decisionFor(undecided, seam));
      return after?.ok === true ? after.value : song;
    }, this.#ports.desk.song);
  }

  /** A pass has closed at an engine frame, and its take will be in the song; its tail is still coming in. */
  expect(take: Take, endsAt: number): void {
    const until = take.bodyStart + take.bodyFrames + take.tail;
    this.#ends.set(take.id, endsAt);
    if (!this.#ended.has(take.recording)) this.#coming.set(take.id, { recording: take.recording, until });
  }

  /** A pass is lined up, or under way, from an engine frame on. */
  passBegins(pass: number, at: number): void {
    this.#beginnings.set(pass, at);
  }

  /** A pass was dropped; where that was before it began, nobody went on. */
  passDropped(pass: number, at: number): void {
    if (at <= (this.#beginnings.get(pass) ?? Infinity)) this.#beginnings.delete(pass);
  }

  /** Frames [0, stored) of a recording are in storage. */
  stored(recording: RecordingId, stored: number): void {
    this.#arrive((coming) => coming.recording === recording && coming.until <= stored);
  }

  /** Nothing more will come of a recording. */
  ended(recording: RecordingId): void {
    this.#ended.add(recording);
    this.#arrive((coming) => coming.recording === recording);
  }

  /** The engine is gone, and its frames mean nothing to the next one. */
  interrupted(): void {
    this.#beginnings.clear();
    this.#ends.clear();
    this.#arrive(() => true);
  }

  /** Sees to what is undecided: keeps what was heard already, and listens to the rest. Call after every change. */
  look(): void {
    for (const undecided of undecidedTakes(this.#ports.desk.song)) {
      const seam = this.#knownOf(undecided);
      if (seam !== null) {
        this.#ports.desk.apply(decisionFor(undecided, seam));
      } else if (!this.#coming.has(undecided.take.id) && !this.#asked.has(undecided.key)) {
        this.#asked.add(undecided.key);
        void this.#listen(undecided);
      }
    }
  }

  /** Resolves when all that can be heard now, or soon, was heard. */
  async settled(): Promise<void> {
    while (undecidedTakes(this.song).some(({ key, take }) => this.#coming.has(take.id) || this.#asked.has(key))) {
      await new Promise<void>((resolve) => this.#waiting.push(resolve));
    }
  }

  #knownOf({ key, given }: UndecidedTake): Seam | null {
    return given ?? this.#heard.get(key) ?? null;
  }

  #arrive(has: (coming: Coming) => boolean): void {
    const arrived = [...this.#coming].filter(([, coming]) => has(coming));
    if (arrived.length === 0) return;
    for (const [take] of arrived) this.#coming.delete(take);
    this.look();
    this.#wake();
  }

  async #listen(undecided: UndecidedTake): Promise<void> {
    const seam = await this.#hear(undecided.take);
    if (seam === null) {
      // It cannot be read, and goes on with the plain crossfade; the next change tries again.
      this.#asked.delete(undecided.key);
    } else {
      this.#heard.set(undecided.key, seam);
      this.look();
      this.#ports.changed();
    }
    this.#wake();
  }

  async #hear(take: Take): Promise<Seam | null> {
    const { library, keeping, desk } = this.#ports;
    const { metre, sampleRate } = desk.song;
    const beatFrames = nearestFrame(take.bodyFrames / take.bars / metre.groups.length);
    const lead = frames(Math.min(take.lead, leadHeard(beatFrames, sampleRate)));
    const end = addFrames(take.bodyStart, take.bodyFrames);
    await keeping.keptSoFar();
    const read = async (from: number, count: number) =>
      await library.readRecording(take.recording, take.channel, frames(from), frames(count));
    const played = await read(take.bodyStart - lead, lead + take.bodyFrames);
    const after = await read(end, take.tail);
    if (!played.ok || !after.ok) return null;
    const tail = frames(take.tail - after.value.missing);
    const samples = new Float32Array(lead + take.bodyFrames + tail);
    samples.set(played.value.samples);
    samples.set(after.value.samples.subarray(0, tail), lead + take.bodyFrames);
    const body = { bodyStart: lead, bodyFrames: take.bodyFrames, lead, tail };
    return hearSeam(samples, body, beatFrames, sampleRate, take.seam, this.#playedOn(take));
  }

  /** True where another pass followed at once; else nobody knows but the sound itself. */
  #playedOn(take: Take): true | null {
    const endsAt = this.#ends.get(take.id);
    const lined = endsAt !== undefined && [...this.#beginnings.values()].includes(endsAt);
    const end = take.bodyStart + take.bodyFrames;
    const follows = ({ recording, bodyStart }: Take): boolean => recording === take.recording && bodyStart === end;
    const recorded = everyLayer(this.#ports.desk.song).some((layer) => layer.takes.some(follows));
    return lined || recorded ? true : null;
  }

  #wake(): void {
    const waiting = this.#waiting;
    this.#waiting = [];
    for (const resolve of waiting) resolve();
  }
}
