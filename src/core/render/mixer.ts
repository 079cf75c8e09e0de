/**
 * The voices and their sum. Voices are added in the program's order, then those the engine started itself, so that the
 * sum is the same to the bit in every round. Audio thread; only `render` runs in `process`, and it allocates nothing.
 */
import type { Program } from '../program/program.js';
import { voiceCount } from '../program/program.js';
import type { SampleRate } from '../units/index.js';
import type { AudioStore } from './audio-store.js';
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
  readonly #scratch = new Float32Array(MIX_FRAMES);
  #slots: VoiceSlot[] = [];
  /** Voices of passes that have a closing line and are in no program yet. */
  #own: VoiceSlot[] = [];
  #leaving: VoiceSlot[] = [];

  constructor(pool: ChunkPool, store: AudioStore, rate: SampleRate) {
    this.#pool = pool;
    this.#store = store;
    this.#rampFrames = Math.max(1, Math.round(RAMP_SECONDS * rate));
  }

  get hasVoices(): boolean {
    return this.#slots.length + this.#own.length > 0;
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
      slot.curves = program.curves;
      slot.audio = this.#store.known(row.audio, row.channel, chunksOf(row));
      const ramp = isNew && standing.origin === null ? 'at-once' : 'ramped';
      slot.setGains(stripLeft(program.strips, row.strip), stripRight(program.strips, row.strip), ramp, standing.at);
      return slot;
    });
    this.#own = this.#own.filter((slot) => slot.row.id > program.passesKnown && before.delete(slot.row.id));
    this.#leaving = this.#leaving.filter((slot) => !slot.isSilentFrom(standing.at));
    for (const slot of before.values()) {
      slot.leave(standing.at);
      this.#leaving.push(slot);
    }
  }

  /** Playing starts from the top: voices that are under way at line 0 are joined there, the others begin by themselves. */
  startFrom(origin: number): void {
    for (const slot of this.#slots) {
      slot.from = slot.row.start;
      if (slot.row.start >= 0) continue;
      const left = slot.left.target;
      const right = slot.right.target;
      slot.setGains(0, 0, 'at-once', origin);
      slot.setGains(left, right, 'ramped', origin);
    }
    this.#leaving.length = 0;
  }

  /**
   * A pass has its closing line: from there on it is played. Where that line has been rendered, it joins under way.
   * @param row of the voice, in the layout of a program with one voice.
   */
  addOwn(row: Float64Array, curves: Float32Array, standing: Standing): void {
    const slot = new VoiceSlot(curves, this.#rampFrames);
    slot.row.read(row, 0);
    slot.audio = this.#store.find(slot.row.audio, slot.row.channel);
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
   * Adds all voices at song positions [position, position + count), count ≤ MIX_FRAMES, engine frames from `frame` on.
   * @returns frames of voices that were not in the pool.
   */
  render(position: number, frame: number, count: number, left: Float32Array, right: Float32Array): number {
    let late = 0;
    for (const slot of this.#slots) late += this.#add(slot, position, frame, count, left, right);
    for (const slot of this.#own) late += this.#add(slot, position, frame, count, left, right);
    for (const slot of this.#leaving) late += this.#add(slot, position, frame, count, left, right);
    return late;
  }

  #add(
    slot: VoiceSlot,
    position: number,
    frame: number,
    count: number,
    left: Float32Array,
    right: Float32Array,
  ): number {
    const moves = slot.left.movesAfter(frame) || slot.right.movesAfter(frame);
    const l = slot.left.at(frame);
    const r = slot.right.at(frame);
    if (slot.audio === undefined || (!moves && l === 0 && r === 0)) return 0;
    const scratch = this.#scratch;
    scratch.fill(0, 0, count);
    const late = addIterations(slot.row, slot.from, slot.audio, this.#pool, slot.curves, position, count, scratch);
    for (let i = 0; i < count; i++) {
      const sample = scratch[i] ?? 0;
      left[i] = (left[i] ?? 0) + sample * (moves ? slot.left.at(frame + i) : l);
      right[i] = (right[i] ?? 0) + sample * (moves ? slot.right.at(frame + i) : r);
    }
    return late;
  }
}

const chunksOf = (row: VoiceRow): number =>
  Math.ceil(Math.max(0, row.bodyStart + row.bodyFrames + row.tail) / CHUNK_FRAMES);
