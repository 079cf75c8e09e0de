/**
 * Seams: once a pass and what rang after it are in storage, its take is listened to, and what is heard becomes a silent
 * edit. The same for takes that are found undecided: at opening, or after a change that makes them so.
 *
 * A tail may ring for long, and nobody waits for it: as soon as something is known of a seam, it sounds so. First how the
 * body opens, which the pass brought along; then what was struck round its last line; then how far it has rung by now.
 *
 * A silent edit has to wait while something could be put back (see core/history). What was heard holds all the same:
 * `song` is the song as it should sound.
 */
import { feltBeats } from '../core/meter/metres.js';
import type { hearSeam } from '../core/seam/hear.js';
import { leadHeard } from '../core/seam/lead.js';
import type { Seam } from '../core/seam/seam.js';
import { applyEdit } from '../core/song/apply-edit.js';
import type { RecordingId, TakeId } from '../core/song/ids.js';
import { endShift } from '../core/song/moves.js';
import { everyLayer } from '../core/song/queries.js';
import type { Song, Take } from '../core/song/song.js';
import { frames, nearestFrame } from '../core/units/index.js';
import type { Library } from '../ports/library.js';
import type { Keeping } from './keeping.js';
import type { SongDesk } from './song-desk.js';
import { readTake, runsInSong } from './take-audio.js';
import type { UndecidedTake } from './undecided.js';
import { decisionFor, keyOf, undecidedTakes } from './undecided.js';

/** Seconds of a tail by which the attacks round the line are known, but not yet whether it rings. */
const ATTACKS_SECONDS = 0.25;
/** Seconds of a tail after which it is listened to, and again when all of it has come in. */
const STAGES_SECONDS = [ATTACKS_SECONDS, 4];

/** A take whose tail is still coming in. */
interface Coming {
  readonly take: Take;
  /** Frames of its tail that will be listened to next, and after that. */
  readonly stages: readonly number[];
}

export interface SeamsPorts {
  readonly library: Library;
  readonly keeping: Keeping;
  readonly desk: SongDesk;
  /** What listens; loaded when it is first needed. */
  readonly ears: () => Promise<{ readonly hearSeam: typeof hearSeam }>;
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
  /** What is known of takes whose tails are still coming in. */
  readonly #soFar = new Map<string, Seam>();
  readonly #asked = new Set<string>();
  #waiting: (() => void)[] = [];

  constructor(ports: SeamsPorts) {
    this.#ports = ports;
  }

  /** The song with all that was heard. */
  get song(): Song {
    return undecidedTakes(this.#ports.desk.song).reduce((song, undecided) => {
      const seam = this.#knownOf(undecided) ?? this.#soFar.get(undecided.key) ?? null;
      const after = seam === null ? null : applyEdit(song, decisionFor(undecided, seam));
      return after?.ok === true ? after.value : song;
    }, this.#ports.desk.song);
  }

  /**
   * A pass has closed at an engine frame, and its take will be in the song; its tail is still coming in.
   * @param opening how it opens, where that was heard.
   */
  expect(take: Take, endsAt: number, opening: Seam | null): void {
    this.#ends.set(take.id, endsAt);
    if (opening !== null) this.#soFar.set(keyOf(take), opening);
    if (this.#ended.has(take.recording)) return;
    const stages = STAGES_SECONDS.map((seconds) => Math.round(seconds * this.#ports.desk.song.sampleRate));
    this.#coming.set(take.id, { take, stages: [...stages.filter((stage) => stage < take.tail), take.tail] });
  }

  /** A pass is lined up, or under way, from an engine frame on. */
  passBegins(pass: number, at: number): void {
    this.#beginnings.set(pass, at);
  }

  /** A pass was dropped, at a heard frame; where that was before it began, nobody went on. */
  passDropped(pass: number, heard: number): void {
    if (heard <= (this.#beginnings.get(pass) ?? Infinity)) this.#beginnings.delete(pass);
  }

  /** Frames [0, stored) of a recording are in storage. */
  stored(recording: RecordingId, stored: number): void {
    for (const [id, { take, stages }] of this.#coming) {
      const tail = stored - endOf(take);
      const left = stages.filter((stage) => stage > tail);
      if (take.recording !== recording || left.length === stages.length || left.length === 0) continue;
      this.#coming.set(id, { take, stages: left });
      void this.#listenSoFar(take, Math.max(...stages.filter((stage) => stage <= tail)));
    }
    this.#arrive(({ take, stages }) => take.recording === recording && this.#suffices(take, stages, stored));
  }

  /** Nothing more will come of a recording. */
  ended(recording: RecordingId): void {
    this.#ended.add(recording);
    this.#arrive(({ take }) => take.recording === recording);
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

  /** Who is known to have gone on is not followed by a ring: then the attacks are all there is to hear. */
  #suffices(take: Take, stages: readonly number[], stored: number): boolean {
    const tail = stored - endOf(take);
    const attacks = ATTACKS_SECONDS * this.#ports.desk.song.sampleRate;
    return tail >= (stages.at(-1) ?? 0) || (tail >= attacks && this.#playedOn(take) === true);
  }

  #arrive(has: (coming: Coming) => boolean): void {
    const arrived = [...this.#coming].filter(([, coming]) => has(coming));
    if (arrived.length === 0) return;
    for (const [take] of arrived) this.#coming.delete(take);
    this.look();
    this.#wake();
  }

  async #listen(undecided: UndecidedTake): Promise<void> {
    const seam = await this.#hear(undecided.take, undecided.take.tail);
    if (seam === null) {
      // It cannot be read, and goes on as it sounds; the next change tries again.
      this.#asked.delete(undecided.key);
    } else {
      this.#heard.set(undecided.key, seam);
      this.#soFar.delete(undecided.key);
      this.look();
      this.#ports.changed();
    }
    this.#wake();
  }

  /** So much of its tail is there: what is heard sounds, and is not yet written down. */
  async #listenSoFar(take: Take, tail: number): Promise<void> {
    const seam = await this.#hear(take, tail);
    if (seam === null || this.#heard.has(keyOf(take))) return;
    this.#soFar.set(keyOf(take), seam);
    this.#ports.changed();
  }

  async #hear(take: Take, most: number): Promise<Seam | null> {
    const { library, keeping, desk, ears } = this.#ports;
    const { metre, sampleRate } = desk.song;
    const beatFrames = nearestFrame(take.bodyFrames / take.bars / feltBeats(metre).length);
    const lead = frames(Math.min(take.lead, leadHeard(beatFrames, sampleRate)));
    const end = frames(Math.max(0, endOf(take)));
    const heard = await ears();
    await keeping.keptSoFar();
    const played = await readTake(library, take, runsInSong(desk.song, take), lead);
    const rest = frames(Math.min(take.tail, most));
    const after = await library.readRecording(take.recording, take.channel, end, rest);
    if (!played.ok || !after.ok) return null;
    const tail = frames(after.value.samples.length - after.value.missing);
    const samples = new Float32Array(lead + take.bodyFrames + tail);
    samples.set(played.value.samples);
    samples.set(after.value.samples.subarray(0, tail), lead + take.bodyFrames);
    const body = { bodyStart: lead, bodyFrames: take.bodyFrames, lead, tail };
    const rings = tail > ATTACKS_SECONDS * sampleRate || most === take.tail;
    return heard.hearSeam(samples, body, beatFrames, sampleRate, take.seam, rings ? this.#playedOn(take) : true);
  }

  /** True where another pass followed at once; else nobody knows but the sound itself. */
  #playedOn(take: Take): true | null {
    const endsAt = this.#ends.get(take.id);
    const lined = endsAt !== undefined && [...this.#beginnings.values()].includes(endsAt);
    const end = endOf(take);
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

/** The frame of the recording at a take's last line. */
const endOf = (take: Take): number => take.bodyStart + take.bodyFrames + endShift(take);
