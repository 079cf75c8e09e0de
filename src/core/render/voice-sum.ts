/**
 * The sum of the voices, in a fixed order, so that it is the same to the bit in every round; in doubles, so that it is
 * rounded once, however many there are. Nearly always a voice is silent or plain (voice-runs.ts): silent ones are left
 * out, plain ones are added four in a pass (mix-four.ts). Where something happens to a voice, a fade, a seam, a ramp, the
 * edge of a chunk, a cut, a late chunk, it is added by itself, iteration by iteration (voice-iterations.ts).
 *
 * Audio thread; `render` allocates nothing, `take` only where voices have become more.
 */
import { fetchFour, mixFour, mixOne } from './mix-four.js';
import type { ChunkPool } from './pool.js';
import { addIterations } from './voice-iterations.js';
import { VoiceRuns } from './voice-runs.js';
import type { VoiceSlot } from './voice-slot.js';

/** Samples are mixed in blocks of at most so many frames. */
export const MIX_FRAMES = 128;

/** The voices, in the order in which they are added. */
interface OrderedVoices {
  readonly total: number;
  at(index: number): VoiceSlot | undefined;
}

export class VoiceSum {
  readonly #pool: ChunkPool;
  readonly #runs: VoiceRuns;
  readonly #scratch = new Float64Array(MIX_FRAMES);
  readonly #slots: VoiceSlot[] = [];
  /** The voices that may sound: `#awake[0 … #awakeCount)`, in order. */
  #awake = new Int32Array(0);
  #awakeCount = 0;
  /** Engine frame from which another voice may sound; 0 where one has fallen silent. */
  #wakes = 0;
  // Plain voices that have not been added: four that have been fetched, and up to four that come after them.
  #fetched = new Int32Array(4);
  #hasFetched = false;
  #gathered = new Int32Array(4);
  #gatheredCount = 0;

  constructor(pool: ChunkPool) {
    this.#pool = pool;
    this.#runs = new VoiceRuns(pool);
  }

  /** The voices are others, or something about them is: nothing that was found out about them holds. */
  take(voices: OrderedVoices): void {
    const { total } = voices;
    const slots = this.#slots;
    for (let i = 0; i < total; i++) slots[i] = voices.at(i) as VoiceSlot;
    if (slots.length > total) slots.length = total;
    if (total > this.#awake.length) this.#awake = new Int32Array(2 * total);
    this.#runs.reset(total);
    this.#wakes = 0;
  }

  /**
   * Adds all voices at engine frames [frame, frame + count), count ≤ MIX_FRAMES.
   * @returns frames of voices that were not in the pool.
   */
  render(frame: number, count: number, left: Float64Array, right: Float64Array): number {
    if (frame + count > this.#wakes) this.#wake(frame, count);
    const runs = this.#runs;
    let late = 0;
    for (let i = 0; i < this.#awakeCount; i++) {
      const voice = this.#awake[i] as number;
      if (!runs.isPlain(voice, frame, count)) runs.look(voice, this.#slots[voice] as VoiceSlot, frame, count);
      if (runs.isPlain(voice, frame, count)) {
        this.#gathered[this.#gatheredCount++] = voice;
        if (this.#gatheredCount === 4) this.#addFour(frame, count, left, right);
      } else if (runs.isSilent(voice, frame, count)) {
        this.#wakes = 0;
      } else {
        this.#addGathered(frame, count, left, right);
        late += this.#addByItself(this.#slots[voice] as VoiceSlot, frame, count, left, right);
      }
    }
    this.#addGathered(frame, count, left, right);
    return late;
  }

  /** Finds out which voices may sound in a block, and when that has to be found out again. */
  #wake(frame: number, count: number): void {
    const runs = this.#runs;
    this.#awakeCount = 0;
    this.#wakes = Infinity;
    for (let voice = 0; voice < this.#slots.length; voice++) {
      if (!runs.isPlain(voice, frame, count) && !runs.isSilent(voice, frame, count)) {
        runs.look(voice, this.#slots[voice] as VoiceSlot, frame, count);
      }
      if (!runs.isSilent(voice, frame, count)) this.#awake[this.#awakeCount++] = voice;
      else this.#wakes = Math.min(this.#wakes, runs.silentUntil(voice));
    }
  }

  /** Four have been gathered: they are fetched, and those that were fetched before them are added. */
  #addFour(frame: number, count: number, left: Float64Array, right: Float64Array): void {
    fetchFour(this.#runs, this.#gathered, frame, count);
    if (this.#hasFetched) mixFour(this.#runs, this.#fetched, frame, count, left, right);
    const added = this.#fetched;
    this.#fetched = this.#gathered;
    this.#gathered = added;
    this.#hasFetched = true;
    this.#gatheredCount = 0;
  }

  #addGathered(frame: number, count: number, left: Float64Array, right: Float64Array): void {
    if (this.#hasFetched) mixFour(this.#runs, this.#fetched, frame, count, left, right);
    this.#hasFetched = false;
    for (let i = 0; i < this.#gatheredCount; i++) {
      mixOne(this.#runs, this.#gathered[i] as number, frame, count, left, right);
    }
    this.#gatheredCount = 0;
  }

  #addByItself(slot: VoiceSlot, frame: number, count: number, left: Float64Array, right: Float64Array): number {
    const scratch = this.#scratch;
    scratch.fill(0, 0, count);
    const late = addIterations(slot, this.#pool, frame - slot.origin, count, scratch);
    slot.late.follow(slot, frame, count);
    if (!slot.late.isOpen(frame, count)) slot.late.apply(scratch, frame, count);
    const moves = slot.left.movesAfter(frame) || slot.right.movesAfter(frame);
    const l = slot.left.target;
    const r = slot.right.target;
    for (let i = 0; i < count; i++) {
      const sample = scratch[i] as number;
      left[i] = (left[i] as number) + sample * (moves ? slot.left.at(frame + i) : l);
      right[i] = (right[i] as number) + sample * (moves ? slot.right.at(frame + i) : r);
    }
    return late;
  }
}
