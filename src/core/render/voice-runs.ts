/**
 * What every voice does for the next while: it is silent, or it is in the middle of its body at a steady gain, or
 * something happens to it. The first two last for many blocks and are looked up once: a middle to the end of the chunk,
 * silence until the voice begins. Then a block costs a voice one comparison, and a silent one nothing.
 *
 * One place in a few typed arrays for each voice, in the order in which they are added. Audio thread; allocates in
 * `reset` only, and there only where voices have become more.
 */
import type { AudioChannel } from './audio-store.js';
import type { MixedVoices } from './mix-four.js';
import type { ChunkPool } from './pool.js';
import { CHUNK_FRAMES } from './pool.js';
import type { VoiceRow } from './voice-iterations.js';
import type { VoiceSlot } from './voice-slot.js';

const NOTHING = new Float32Array(0);
/** Before every engine frame. */
const LONG_AGO = -1;

/** A position from which something may sound: `position` where something does, else where the next iteration begins. */
function soundsFrom({ start, bodyFrames, period, lead, tail }: VoiceRow, position: number): number {
  const begun = start + Math.floor((position + lead - start) / period) * period;
  return position < begun + bodyFrames + tail ? position : begun + period - lead;
}

export class VoiceRuns implements MixedVoices {
  readonly slabs: Float32Array[] = [];
  zeros = new Float64Array(0);
  lefts = new Float64Array(0);
  rights = new Float64Array(0);
  readonly #pool: ChunkPool;
  /** Engine frame until which a voice lies plainly in `slabs`. */
  #plainUntil = new Float64Array(0);
  /** Engine frame until which it is silent. */
  #silentUntil = new Float64Array(0);
  /** Where a plain voice lies: a chunk may be let go under it. */
  readonly #audio: (AudioChannel | null)[] = [];
  #indices = new Int32Array(0);
  #chunks = new Int32Array(0);

  constructor(pool: ChunkPool) {
    this.#pool = pool;
  }

  /** Forgets everything: something about the voices has changed, or their number. */
  reset(count: number): void {
    if (count > this.zeros.length) this.#grow(count + 64);
    this.#plainUntil.fill(LONG_AGO);
    this.#silentUntil.fill(LONG_AGO);
    this.slabs.fill(NOTHING);
    this.#audio.fill(null);
  }

  isSilent(voice: number, frame: number, count: number): boolean {
    return frame + count <= (this.#silentUntil[voice] as number);
  }

  /** Engine frame until which a voice is silent. */
  silentUntil(voice: number): number {
    return this.#silentUntil[voice] as number;
  }

  /** Whether a voice is plain for a whole block, as far as it is known already. */
  isPlain(voice: number, frame: number, count: number): boolean {
    return (
      frame + count <= (this.#plainUntil[voice] as number) &&
      this.#audio[voice]?.chunkAt(this.#indices[voice] as number) === this.#chunks[voice]
    );
  }

  /** Looks anew what a voice does from an engine frame on, for `count` frames at least. */
  look(voice: number, slot: VoiceSlot, frame: number, count: number): void {
    this.#lookForSilence(voice, slot, frame);
    if (!this.isSilent(voice, frame, count)) this.#lookForPlain(voice, slot, frame, count);
  }

  /** Written where it is kept, not returned: Infinity would be a number in memory of its own. */
  #lookForSilence(voice: number, slot: VoiceSlot, frame: number): void {
    const { row, left, right, cut } = slot;
    const position = frame - slot.origin;
    const isMuted = left.target === 0 && right.target === 0 && !left.movesAfter(frame) && !right.movesAfter(frame);
    // No iteration begins at `end` or later, nor at `cut`; what is under way at a cut ends soon after it.
    const over = Math.min(row.end + row.bodyFrames + row.tail, cut + Math.max(row.tail, row.cutFrames));
    const begins = Math.max(row.start, slot.from) - row.lead;
    if (slot.audio === undefined || isMuted || position >= over) this.#silentUntil[voice] = Infinity;
    else if (position < begins) this.#silentUntil[voice] = slot.origin + begins;
    else this.#silentUntil[voice] = slot.origin + soundsFrom(row, position);
  }

  #lookForPlain(voice: number, slot: VoiceSlot, frame: number, count: number): void {
    const { row, audio, late } = slot;
    this.#plainUntil[voice] = LONG_AGO;
    if (audio === undefined) return;
    late.follow(slot, frame, count);
    if (!late.isOpen(frame, count) || slot.left.movesAfter(frame) || slot.right.movesAfter(frame)) return;
    const position = frame - slot.origin;
    const round = Math.floor((position - row.start) / row.period);
    const body = row.start + round * row.period;
    const ends = body + row.bodyFrames;
    if (round < 0 || body < slot.from || body >= row.end || ends > slot.cut) return;
    if (position < ends - row.period + row.tail || position < body - row.lead + row.fadeIn) return;
    const at = row.bodyStart + position - body;
    const index = Math.floor(at / CHUNK_FRAMES);
    const chunk = at < 0 ? -1 : audio.chunkAt(index);
    if (chunk < 0) return;
    let most = Math.min(body + row.period - row.lead, ends + row.tail - row.fadeOut) - position;
    most = Math.min(most, (index + 1) * CHUNK_FRAMES - at, audio.availableFrames - at);
    if (most < count) return;
    while (!late.isOpen(frame, most)) most = Math.max(count, most >> 1);
    this.#plainUntil[voice] = frame + most;
    this.#audio[voice] = audio;
    this.#indices[voice] = index;
    this.#chunks[voice] = chunk;
    this.slabs[voice] = this.#pool.slabOf(chunk);
    this.zeros[voice] = frame - (this.#pool.offsetOf(chunk) + at - index * CHUNK_FRAMES);
    this.lefts[voice] = slot.left.target;
    this.rights[voice] = slot.right.target;
  }

  #grow(places: number): void {
    this.zeros = new Float64Array(places);
    this.lefts = new Float64Array(places);
    this.rights = new Float64Array(places);
    this.#plainUntil = new Float64Array(places);
    this.#silentUntil = new Float64Array(places);
    this.#indices = new Int32Array(places);
    this.#chunks = new Int32Array(places);
    while (this.slabs.length < places) this.slabs.push(NOTHING);
    while (this.#audio.length < places) this.#audio.push(null);
  }
}
