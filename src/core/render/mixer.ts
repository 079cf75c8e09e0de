/**
 * The voices and their sum. Voices are added in the program's order, then those the engine started itself, so that the
 * sum is the same to the bit in every round; in doubles, so that it is rounded once, however many there are. Audio thread; only `render` runs in `process`, and it allocates nothing.
 */
import type { Program } from '../program/program.js';
import { voiceCount } from '../program/program.js';
import type { SampleRate } from '../units/index.js';
import type { AudioStore } from './audio-store.js';
import { PlainSpan, findPlain, mixFour, mixOne } from './mix-four.js';
import type { ChunkPool } from './pool.js';
import { CHUNK_FRAMES } from './pool.js';
import { VoiceRow, addIterations } from './voice-iterations.js';
import { VoiceSlot, stripLeft, stripRight } from './voice-slot.js';

/** Samples are mixed in blocks of at most so many frames. */
export const MIX_FRAMES = 128;
const RAMP_SECONDS = 0.008;

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
  readonly #rampFrames: number;
  readonly #scratch = new Float64Array(MIX_FRAMES);
  readonly #plain = [new PlainSpan(), new PlainSpan(), new PlainSpan(), new PlainSpan()] as const;
  #slots: VoiceSlot[] = [];
  /** Voices of passes that have a closing line and are in no program yet. */
  #own: VoiceSlot[] = [];
  #leaving: VoiceSlot[] = [];
  readonly #hushed = new Set<number>();

  constructor(pool: ChunkPool, store: AudioStore, rate: SampleRate) {
    this.#pool = pool;
    this.#store = store;
    this.#rampFrames = Math.max(1, Math.round(RAMP_SECONDS * rate));
  }

  get hasVoices(): boolean {
    return this.#slots.length + this.#own.length > 0;
  }

  /** All voices, those that are leaving included. */
  get voiceTotal(): number {
    return this.#slots.length + this.#own.length + this.#leaving.length;
  }

  voiceAt(index: number): VoiceSlot | undefined {
    const slots = this.#slots.length;
    if (index < slots) return this.#slots[index];
    return index < slots + this.#own.length ? this.#own[index - slots] : this.#leaving[index - slots - this.#own.length];
  }

  /** Takes over a program: voices it names go on sample for sample, new ones join in phase, others leave. */
  useProgram(program: Program, standing: Standing): void {
    const before = new Map([...this.#slots, ...this.#own].map((slot) => [slot.row.id, slot]));
    this.#slots = Array.from({ length: voiceCount(program) }, (_, index) => {
      const row = new VoiceRow();
      row.read(program.voices, index);
      const slot = before.get(row.id) ?? new VoiceSlot(program.curves, this.#rampFrames);
      const isNew = !before.delete(row.id);
      slot.row.read(program.voices, index);
      if (isNew && standing.origin !== null) slot.origin = standing.origin;
      slot.curves = program.curves;
      slot.audio = this.#store.known(row.audio, row.channel, chunksOf(row));
      slot.late.lookAgain();
      const ramp = isNew && standing.origin === null ? 'at-once' : 'ramped';
      this.#setStrip(slot, program.strips, ramp, standing.at);
      return slot;
    });
    this.#own = this.#own.filter((slot) => slot.row.id > program.passesKnown && before.delete(slot.row.id));
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

  /** Position 0 is another engine frame for every voice of the program. */
  moveOrigin(by: number): void {
    for (const slot of this.#slots) slot.origin += by;
  }

  /** Playing starts from the top: voices that are under way at line 0 are joined there, the others begin by themselves. */
  startFrom(origin: number): void {
    for (const slot of this.#slots) {
      slot.origin = origin;
      slot.from = slot.row.start;
      slot.late.reset();
      if (slot.row.start < 0) joinAt(slot, origin);
    }
    for (const slot of this.#own) {
      slot.origin = origin;
      slot.late.reset();
    }
    this.#leaving.length = 0;
  }

  /** Playing is taken up under way: every voice is joined in its phase at an engine frame. */
  joinFrom(origin: number, at: number): void {
    for (const slot of this.#slots) {
      slot.origin = origin;
      slot.from = slot.row.start;
      slot.late.reset();
      joinAt(slot, at);
    }
    this.#leaving.length = 0;
  }

  /**
   * Another program begins at a line that has not been rendered: its voices start anew there, with their leads before
   * it; those of the old one end there, and their tails ring on.
   */
  change(program: Program, line: number): void {
    for (const slot of [...this.#slots, ...this.#own]) {
      slot.cut = line - slot.origin;
      this.#leaving.push(slot);
    }
    this.#leaving = this.#leaving.filter((slot) => !slot.isSilentFrom(line - program.leadFrames));
    this.#own = [];
    this.#slots = Array.from({ length: voiceCount(program) }, (_, index) => {
      const slot = new VoiceSlot(program.curves, this.#rampFrames);
      slot.row.read(program.voices, index);
      slot.audio = this.#store.known(slot.row.audio, slot.row.channel, chunksOf(slot.row));
      slot.origin = line;
      slot.from = slot.row.start;
      this.#setStrip(slot, program.strips, 'at-once', line);
      if (slot.row.start < 0) joinAt(slot, line);
      return slot;
    });
  }

  /** A voice is silent from an engine frame on, whatever its strip says, until `unhush` or a program without it. */
  hush(id: number, at: number): void {
    this.#hushed.add(id);
    for (const slot of this.#slots) if (slot.row.id === id) slot.setGains(0, 0, 'ramped', at);
  }

  unhush(at: number): void {
    for (const slot of this.#slots) {
      if (this.#hushed.has(slot.row.id)) slot.setGains(slot.strip.left, slot.strip.right, 'ramped', at);
    }
    this.#hushed.clear();
  }

  /**
   * A pass has its closing line: from there on it is played. Where that line has been rendered, it joins under way.
   * @param row of the voice, in the layout of a program with one voice.
   */
  addOwn(row: Float64Array, curves: Float32Array, standing: Standing): void {
    const slot = new VoiceSlot(curves, this.#rampFrames);
    slot.row.read(row, 0);
    slot.audio = this.#store.find(slot.row.audio, slot.row.channel);
    slot.origin = standing.origin ?? 0;
    slot.from = slot.row.start;
    const inTime = standing.origin === null || standing.origin + slot.row.start - slot.row.lead >= standing.at;
    slot.setGains(1, 1, inTime ? 'at-once' : 'ramped', standing.at);
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
    if (!this.#hushed.has(slot.row.id)) slot.setGains(slot.strip.left, slot.strip.right, ramp, at);
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
    const late = addIterations(slot.row, slot.from, slot.cut, slot.audio, this.#pool, slot.curves, position, count, scratch);
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

/** From an engine frame on, the voice rises from silence to its gains. */
function joinAt(slot: VoiceSlot, at: number): void {
  const left = slot.left.target;
  const right = slot.right.target;
  slot.setGains(0, 0, 'at-once', at);
  slot.setGains(left, right, 'ramped', at);
}

const chunksOf = (row: VoiceRow): number =>
  Math.ceil(Math.max(0, row.bodyStart + row.bodyFrames + row.tail) / CHUNK_FRAMES);
