/**
 * The voices and their sum. Voices are added in the program's order, then those the engine started itself, so that the
 * sum is the same to the bit in every round; in doubles, so that it is rounded once, however many there are. Audio thread; only `render` runs in `process`, and it allocates nothing.
 */
import type { Program } from '../program/program.js';
import { Voice, voiceCount } from '../program/program.js';
import type { SampleRate } from '../units/index.js';
import type { AudioStore } from './audio-store.js';
import { continues } from './continuing.js';
import { PlainSpan, findPlain, mixFour, mixOne } from './mix-four.js';
import type { ChunkPool } from './pool.js';
import { CHUNK_FRAMES } from './pool.js';
import { CUT_SECONDS, VoiceRow, addIterations } from './voice-iterations.js';
import type { FadeFrames, FromPass } from './voice-slot.js';
import { VoiceSlot, stripLeft, stripRight } from './voice-slot.js';

/** Samples are mixed in blocks of at most so many frames. */
export const MIX_FRAMES = 128;
const RAMP_SECONDS = 0.008;
/** A body of 64 bars, each rounded to whole frames in two ways, differs by so much at most. */
const ROUNDING_FRAMES = 64;

/** A layer is silent while a pass that is another take of it is open, or has closed and is in no program yet. */
interface Hush {
  readonly pass: number;
  readonly voice: number;
}

/** Where playing stands when voices are changed. */
export interface Standing {
  /** First engine frame that the change may touch. */
  readonly at: number;
  /** Engine frame of song position 0; null while nothing plays. */
  readonly origin: number | null;
}

export class Mixer {
  readonly #pool: ChunkPool;
  readonly #store: AudioStore;
  readonly #fades: FadeFrames;
  readonly #scratch = new Float64Array(MIX_FRAMES);
  readonly #plain = [new PlainSpan(), new PlainSpan(), new PlainSpan(), new PlainSpan()] as const;
  #slots: VoiceSlot[] = [];
  /** Voices of passes that have a closing line and are in no program yet. */
  #own: VoiceSlot[] = [];
  #leaving: VoiceSlot[] = [];
  #hushed: readonly Hush[] = [];

  constructor(pool: ChunkPool, store: AudioStore, rate: SampleRate) {
    this.#pool = pool;
    this.#store = store;
    this.#fades = { rampFrames: Math.round(RAMP_SECONDS * rate), cutFrames: Math.round(CUT_SECONDS * rate) };
  }

  /** Frames that a gain takes to move. */
  get rampFrames(): number {
    return this.#fades.rampFrames;
  }

  get hasVoices(): boolean {
    return this.#slots.length + this.#own.length > 0;
  }

  /** Frames before their bodies in which voices sound that are in no program yet. */
  get ownLeadFrames(): number {
    return Math.max(0, ...this.#own.map((slot) => slot.row.lead));
  }

  /** All voices, those that are leaving included. */
  get voiceTotal(): number {
    return this.#slots.length + this.#own.length + this.#leaving.length;
  }

  voiceAt(index: number): VoiceSlot | undefined {
    const slots = this.#slots.length;
    if (index < slots) return this.#slots[index];
    return index < slots + this.#own.length
      ? this.#own[index - slots]
      : this.#leaving[index - slots - this.#own.length];
  }

  /** Takes over a program: voices it names go on sample for sample, new ones join in phase, others leave. */
  useProgram(program: Program, standing: Standing): void {
    this.#hushed = this.#hushed.filter(({ pass }) => pass > program.passesKnown);
    for (const slot of this.#own) slot.countFrom(standing.origin ?? slot.origin);
    const before = new Map([...this.#slots, ...this.#own].map((slot) => [slot.row.id, slot]));
    this.#slots = Array.from({ length: voiceCount(program) }, (_, index) => {
      const row = new VoiceRow();
      row.read(program.voices, index);
      const now = before.get(row.id);
      const goesOn =
        now !== undefined && continues(now, { row, curves: program.curves }, standing.at - now.origin, now.from);
      const slot = goesOn ? now : this.#entering(now, program.curves, standing);
      if (goesOn) before.delete(row.id);
      slot.row.read(program.voices, index);
      slot.curves = program.curves;
      slot.audio = this.#store.known(row.audio, row.channel, chunksOf(row));
      slot.late.lookAgain();
      const isSilent = now === undefined && standing.origin === null;
      this.#setStrip(slot, program.strips, isSilent ? 'at-once' : 'ramped', standing.at);
      if (!goesOn && standing.origin !== null && standing.at < standing.origin) startAt(slot, standing.origin);
      return slot;
    });
    this.#own = this.#own.filter((slot) => slot.pass.number > program.passesKnown && before.delete(slot.row.id));
    this.#leaving = this.#leaving.filter((slot) => !slot.isSilentFrom(standing.at));
    for (const slot of before.values()) {
      slot.leave(standing.at);
      this.#leaving.push(slot);
    }
  }

  /**
   * A loop that was read as other bars has a body of another length, by a few frames of rounding.
   * @param position in the song, now.
   * @returns frames by which position 0 has to move so that the round under way goes on where it is; 0 where no body
   * of a program's voice changes.
   */
  roundShift(program: Program, position: number): number {
    const fresh = new VoiceRow();
    for (let voice = 0; voice < voiceCount(program); voice++) {
      fresh.read(program.voices, voice);
      const row = this.#slots.find((slot) => slot.row.id === fresh.id)?.row;
      if (row === undefined || row.bodyFrames === fresh.bodyFrames) continue;
      const rounds = Math.max(0, Math.floor((position - row.start) / row.bodyFrames));
      return rounds * (row.bodyFrames - fresh.bodyFrames);
    }
    return 0;
  }

  /**
   * Whether some voice goes on, and all that do keep their audio and their body, but for what rounding makes of its
   * length: then what sounds stays as it is, and only its bars are read anew.
   */
  keepsBodies(program: Program): boolean {
    const fresh = new VoiceRow();
    let known = 0;
    for (let voice = 0; voice < voiceCount(program); voice++) {
      fresh.read(program.voices, voice);
      const row = this.#slots.find((slot) => slot.row.id === fresh.id)?.row;
      if (row === undefined) continue;
      if (!isSameBody(row, fresh, ROUNDING_FRAMES)) return false;
      known++;
    }
    return known > 0;
  }

  /** Position 0 is another engine frame, and bodies are as long as a program has them: the round under way stays. */
  readAnew(program: Program, by: number): void {
    const fresh = new VoiceRow();
    for (const slot of this.#slots) slot.origin += by;
    for (let voice = 0; voice < voiceCount(program); voice++) {
      fresh.read(program.voices, voice);
      const slot = this.#slots.find(({ row }) => row.id === fresh.id);
      if (slot !== undefined) slot.row.bodyFrames = fresh.bodyFrames;
    }
  }

  /** Playing starts from the top: voices that are under way at line 0 are joined there, the others begin by themselves. */
  startFrom(origin: number): void {
    // What closed before the last stop begins with the rest; what was ordered with this start waits for its line.
    for (const slot of this.#own) if (slot.origin !== origin) slot.row.start = startInPhase(slot.row);
    for (const slot of [...this.#slots, ...this.#own]) {
      slot.origin = origin;
      slot.late.reset();
      startAt(slot, origin);
    }
    this.#leaving.length = 0;
  }

  /** Playing is taken up under way: every voice is joined in its phase at an engine frame. */
  joinFrom(origin: number, at: number): void {
    for (const slot of this.#slots) {
      slot.origin = origin;
      slot.from = slot.row.start;
      slot.late.reset();
      slot.joinAt(at);
    }
    this.#leaving.length = 0;
  }

  /**
   * Another program begins at a line that has not been rendered: its voices start anew there, with their leads before
   * it; those of the old one end there, and their tails ring on. One that was to begin at that line does not.
   * @param at first engine frame that the change may touch.
   */
  change(program: Program, line: number, at: number): void {
    for (const slot of [...this.#slots, ...this.#own]) {
      if (slot.origin === line) slot.leave(at);
      else this.#cut(slot, line, at);
      this.#leaving.push(slot);
    }
    this.#leaving = this.#leaving.filter((slot) => !slot.isSilentFrom(at));
    this.#own = [];
    this.#slots = Array.from({ length: voiceCount(program) }, (_, index) => {
      const slot = new VoiceSlot(program.curves, this.#fades);
      slot.row.read(program.voices, index);
      slot.audio = this.#store.known(slot.row.audio, slot.row.channel, chunksOf(slot.row));
      slot.origin = line;
      this.#setStrip(slot, program.strips, 'at-once', line);
      startAt(slot, line);
      return slot;
    });
  }

  /**
   * The program's bar lines hold from a line on that has not been rendered. Voices that lie as before go on sample for
   * sample; others end there, their tails ringing on, and begin there anew, under way if they have to. Voices of passes
   * that the program does not know go on.
   * @param origin engine frame of song position 0 as the program counts from that line on
   * @param at first engine frame that may still be touched
   */
  changeBars(program: Program, line: number, origin: number, at: number): void {
    const before = new Map([...this.#slots, ...this.#own].map((slot) => [slot.row.id, slot]));
    this.#slots = Array.from({ length: voiceCount(program) }, (_, index) => {
      const fresh = new VoiceSlot(program.curves, this.#fades);
      fresh.row.read(program.voices, index);
      fresh.origin = origin;
      const old = before.get(fresh.row.id);
      const goesOn = old !== undefined && liesAs(old, fresh) && continues(old, fresh, at - origin, old.from);
      const slot = goesOn ? old : fresh;
      slot.row.read(program.voices, index);
      slot.curves = program.curves;
      slot.audio = this.#store.known(slot.row.audio, slot.row.channel, chunksOf(slot.row));
      slot.late.lookAgain();
      this.#setStrip(slot, program.strips, goesOn ? 'ramped' : 'at-once', at);
      if (goesOn) before.delete(slot.row.id);
      else enterAt(slot, line, at);
      return slot;
    });
    const named = new Set(this.#slots.map((slot) => slot.row.id));
    this.#own = this.#own.filter(
      ({ row, pass }) => pass.number > program.passesKnown && !named.has(row.id) && before.delete(row.id),
    );
    this.#leaving = this.#leaving.filter((slot) => !slot.isSilentFrom(at));
    for (const slot of before.values()) {
      if (Math.max(slot.enters, slot.origin) > at) slot.leave(at);
      else this.#cut(slot, line, at);
      this.#leaving.push(slot);
    }
  }

  /** Nothing plays: voices that were to come in at a line are there. */
  settle(): void {
    for (const slot of this.#slots) {
      slot.enters = -Infinity;
      slot.joinsAt = -Infinity;
      slot.setGains(slot.left.target, slot.right.target, 'at-once', 0);
    }
  }

  /**
   * Time goes on after a standstill: what the program has at or behind an engine frame comes `by` frames later (by is
   * below 0). A lead that would have begun already is cut, and rises from silence.
   */
  moveBehind(frame: number, by: number, at: number): void {
    for (const slot of this.#slots) {
      const { row, origin } = slot;
      if (origin + row.end >= frame) row.end += by;
      if (origin + row.start < frame) continue;
      row.start += by;
      slot.from = row.start;
      if (origin + row.start - row.lead < at) slot.joinAt(at);
    }
  }

  /** The voice of a pass begins elsewhere, or has another body: time went on after a standstill. @param row as in addOwn. */
  moveOwn(row: Float64Array, origin: number, at: number): void {
    const slot = this.#own.find((each) => each.row.id === row[Voice.id]);
    if (slot === undefined) return;
    slot.row.read(row, 0);
    slot.origin = origin;
    slot.from = slot.row.start;
    if (slot.origin + slot.row.start - slot.row.lead < at) slot.joinAt(at);
  }

  /**
   * A pass is another take of a voice: that voice, and older passes that were another take of it too, are silent from an
   * engine frame on, whatever their strips say, until `unhush` or a program that knows of the pass.
   */
  hush(pass: number, voice: number, at: number): void {
    this.#hushed = [...this.#hushed, { pass, voice }];
    for (const slot of [...this.#slots, ...this.#own]) if (this.#isHushed(slot)) slot.setGains(0, 0, 'ramped', at);
  }

  /** The pass was dropped: what was silent for it alone comes back. */
  unhush(pass: number, at: number): void {
    const slots = [...this.#slots, ...this.#own].filter((slot) => this.#isHushed(slot));
    this.#hushed = this.#hushed.filter((hush) => hush.pass !== pass);
    for (const slot of slots) {
      if (!this.#isHushed(slot)) slot.setGains(slot.strip.left, slot.strip.right, 'ramped', at);
    }
  }

  /**
   * A pass has its closing line: from there on it is played. Where that line has been rendered, it joins under way.
   * @param row of the voice, in the layout of a program with one voice.
   */
  addOwn(row: Float64Array, curves: Float32Array, standing: Standing, pass: FromPass): void {
    const slot = new VoiceSlot(curves, this.#fades, pass);
    slot.row.read(row, 0);
    slot.audio = this.#store.find(slot.row.audio, slot.row.channel);
    slot.origin = standing.origin ?? 0;
    slot.from = slot.row.start;
    const inTime = standing.origin === null || standing.origin + slot.row.start - slot.row.lead >= standing.at;
    slot.strip.left = 1;
    slot.strip.right = 1;
    if (!this.#isHushed(slot)) slot.setGains(1, 1, inTime ? 'at-once' : 'ramped', standing.at);
    this.#own.push(slot);
  }

  dropOwn(id: number, at: number): void {
    const slot = this.#own.find((each) => each.row.id === id);
    if (slot === undefined) return;
    this.#own = this.#own.filter((each) => each !== slot);
    slot.leave(at);
    this.#leaving.push(slot);
  }

  /**
   * Adds all voices at engine frames [frame, frame + count), count ≤ MIX_FRAMES.
   * @returns frames of voices that were not in the pool.
   */
  render(frame: number, count: number, left: Float64Array, right: Float64Array): number {
    let late = 0;
    for (let i = 0; i < this.#slots.length; i += 4) late += this.#addFour(i, frame, count, left, right);
    for (const slot of this.#own) late += this.#add(slot, frame, count, left, right);
    for (const slot of this.#leaving) late += this.#add(slot, frame, count, left, right);
    return late;
  }

  #setStrip(slot: VoiceSlot, strips: Float64Array, ramp: 'at-once' | 'ramped', at: number): void {
    slot.strip.left = stripLeft(strips, slot.row.strip);
    slot.strip.right = stripRight(strips, slot.row.strip);
    if (!this.#isHushed(slot)) slot.setGains(slot.strip.left, slot.strip.right, ramp, at);
  }

  #isHushed({ row, pass: from }: VoiceSlot): boolean {
    return this.#hushed.some(({ pass, voice }) => row.id === voice || (from.replaces === voice && from.number < pass));
  }

  #cut(slot: VoiceSlot, line: number, at: number): void {
    const lead = slot.cutAt(line - slot.origin, at, this.#fades);
    if (lead !== null) this.#leaving.push(lead);
  }

  /** A voice that sounds from now on, in its phase; where nothing plays, from the next start on. */
  #entering(after: VoiceSlot | undefined, curves: Float32Array, standing: Standing): VoiceSlot {
    const slot = new VoiceSlot(curves, this.#fades, after?.pass);
    slot.origin = after?.origin ?? standing.origin ?? 0;
    slot.from = after?.from ?? (standing.origin === null ? Infinity : -Infinity);
    return slot;
  }

  /** Four voices of the program, from index `first` on: in one pass where nothing happens to them, else one by one. */
  #addFour(first: number, frame: number, count: number, left: Float64Array, right: Float64Array): number {
    const slots = this.#slots;
    const [a, b, c, d] = this.#plain;
    if (
      first + 4 <= slots.length &&
      findPlain(slots[first] as VoiceSlot, frame, count, this.#pool, a) &&
      findPlain(slots[first + 1] as VoiceSlot, frame, count, this.#pool, b) &&
      findPlain(slots[first + 2] as VoiceSlot, frame, count, this.#pool, c) &&
      findPlain(slots[first + 3] as VoiceSlot, frame, count, this.#pool, d)
    ) {
      mixFour(a, b, c, d, count, left, right);
      return 0;
    }
    let late = 0;
    const end = Math.min(slots.length, first + 4);
    for (let i = first; i < end; i++) {
      const slot = slots[i] as VoiceSlot;
      if (findPlain(slot, frame, count, this.#pool, a)) mixOne(a, count, left, right);
      else late += this.#add(slot, frame, count, left, right);
    }
    return late;
  }

  #add(slot: VoiceSlot, frame: number, count: number, left: Float64Array, right: Float64Array): number {
    const position = frame - slot.origin;
    const moves = slot.left.movesAfter(frame) || slot.right.movesAfter(frame);
    const l = slot.left.at(frame);
    const r = slot.right.at(frame);
    if (slot.audio === undefined || (!moves && l === 0 && r === 0)) return 0;
    const scratch = this.#scratch;
    scratch.fill(0, 0, count);
    const late = addIterations(
      slot.row,
      slot.from,
      slot.cut,
      slot.audio,
      this.#pool,
      slot.curves,
      position,
      count,
      scratch,
    );
    slot.late.follow(slot, frame, count);
    if (!slot.late.isOpen(frame, count)) slot.late.apply(scratch, frame, count);
    for (let i = 0; i < count; i++) {
      const sample = scratch[i] ?? 0;
      left[i] = (left[i] ?? 0) + sample * (moves ? slot.left.at(frame + i) : l);
      right[i] = (right[i] ?? 0) + sample * (moves ? slot.right.at(frame + i) : r);
    }
    return late;
  }
}

/** A voice comes in at a line: at the beginning of an iteration where one begins there, else under way. */
function enterAt(slot: VoiceSlot, line: number, at: number): void {
  const { row } = slot;
  const into = line - slot.origin - row.start;
  slot.enters = line;
  slot.from = row.start;
  if (into > 0 && into % row.bodyFrames !== 0) return slot.joinAt(line);
  if (into > 0) slot.from = row.start + into;
  if (slot.origin + slot.from - row.lead < at) slot.joinAt(at);
}

/** Whether a voice that sounds lies where another would: the same body at the same engine frames. */
const liesAs = (a: VoiceSlot, b: VoiceSlot): boolean =>
  a.origin === b.origin && a.row.start === b.row.start && a.row.end === b.row.end && isSameBody(a.row, b.row, 0);

const isSameBody = (a: VoiceRow, b: VoiceRow, within: number): boolean =>
  a.audio === b.audio &&
  a.channel === b.channel &&
  a.bodyStart === b.bodyStart &&
  Math.abs(a.bodyFrames - b.bodyFrames) <= within;

/** Position 0 lies ahead, at an engine frame: a voice that is under way there is joined there, others begin by themselves. */
function startAt(slot: VoiceSlot, origin: number): void {
  slot.from = slot.row.start;
  slot.joinsAt = -Infinity;
  if (slot.row.start < 0) slot.joinAt(origin);
}

/** Where a voice that began at some line is when playing starts at the top: at 0, or under way since before. */
function startInPhase({ start, bodyFrames }: VoiceRow): number {
  const into = start % bodyFrames;
  return into > 0 ? into - bodyFrames : 0;
}

const chunksOf = (row: VoiceRow): number =>
  Math.ceil(Math.max(0, row.bodyStart + row.bodyFrames + row.tail) / CHUNK_FRAMES);
