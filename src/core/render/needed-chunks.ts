/**
 * What a voice needs over the next seconds, chunk by chunk: what is here is kept, what is missing goes on the list of
 * wants, and both are counted. How far ahead is the horizon's to say. Audio thread; allocates in the constructor only.
 */
import type { AudioChannel } from './audio-store.js';
import { Horizon } from './horizon.js';
import type { Sounding } from './needs.js';
import { ChunkWalk } from './needs.js';
import { CHUNK_FRAMES } from './pool.js';
import type { Residency } from './residency.js';
import type { VoiceSlot } from './voice-slot.js';
import type { Wants } from './wants.js';

/** Chunks behind a voice that are looked at, to see whether it has done with them: more than pass in a round. */
const BEHIND = 3;

/** What a round has found. */
export interface RoundFound {
  /** Chunks that will sound in the first seconds and are not here. */
  readonly missing: number;
  /** The same for the programs that stand by. */
  readonly missingInStandBy: number;
}

/** Whether a voice is sure to sound, or would if its program were taken. */
type Surety = 'sure' | 'stands-by';

export class NeededChunks {
  readonly #residency: Residency;
  readonly #wants: Wants;
  readonly #horizon: Horizon;
  readonly #walk = new ChunkWalk();
  readonly #found = { missing: 0, missingInStandBy: 0, needed: 0, neededInStandBy: 0 };
  // Of the voice that is being looked at: the engine's frame, where its span begins, frames from now, and whether it stands by.
  #frame = 0;
  #begin = 0;
  #later = 0;
  #inStandBy = false;

  constructor(residency: Residency, wants: Wants, rate: number) {
    this.#residency = residency;
    this.#wants = wants;
    this.#horizon = new Horizon(rate);
  }

  /** Always the same object: of the round under way, or the last one. */
  get found(): RoundFound {
    return this.#found;
  }

  /** What is needed so far ahead is asked for, and kept; frames. */
  get horizon(): number {
    return this.#horizon.frames;
  }

  beginRound(): void {
    this.#found.missing = 0;
    this.#found.missingInStandBy = 0;
    this.#found.needed = 0;
    this.#found.neededInStandBy = 0;
    this.#residency.beginRound();
  }

  /** Fits the horizon to what the last round has found. @param room chunks that the pool can hold. */
  fit(waitingVoices: number, room: number): void {
    this.#horizon.fit(this.#found.needed, this.#found.neededInStandBy, waitingVoices, room);
  }

  /**
   * A voice from a song position on, as far as the horizon.
   * @param frame the engine's, now
   * @param later frames from now on to the moment at which the span may begin to sound.
   */
  look(voice: Sounding, audio: AudioChannel, frame: number, begin: number, later: number, surety: Surety): void {
    const walk = this.#walk;
    this.#frame = frame;
    this.#begin = begin;
    this.#later = later;
    this.#inStandBy = surety === 'stands-by';
    walk.start(voice, begin, begin + (this.#inStandBy ? this.#horizon.standByFrames : this.#horizon.frames));
    while (walk.next()) for (let index = walk.first; index < walk.after; index++) this.#need(audio, index);
  }

  /** Chunks that a voice has played and will not play again, because no iteration follows. */
  letGoBehind(slot: VoiceSlot, audio: AudioChannel, position: number): void {
    const { row, cut } = slot;
    const round = Math.floor((position - row.start) / row.period);
    const bodyAt = row.start + round * row.period;
    const ends = bodyAt + row.bodyFrames + row.tail;
    const end = Math.min(row.end, cut);
    if (round < 0 || bodyAt >= end || bodyAt + row.period < end || position < ends - row.period) return;
    const now = Math.floor((row.bodyStart + Math.min(position, ends + CHUNK_FRAMES) - bodyAt) / CHUNK_FRAMES);
    for (let index = now - BEHIND; index < now; index++) {
      const chunk = audio.chunkAt(index);
      if (chunk >= 0) this.#residency.retire(chunk);
    }
  }

  /** Keeps what is here of a recording from a frame on: it may have to be played at once. */
  keep(audio: AudioChannel, frame: number): void {
    const first = Math.max(0, Math.floor(frame / CHUNK_FRAMES) - 1);
    const last = Math.floor((frame + this.#horizon.frames) / CHUNK_FRAMES);
    for (let index = first; index <= last; index++) {
      const chunk = audio.chunkAt(index);
      if (chunk >= 0 && this.#residency.touch(chunk)) this.#found.needed++;
    }
  }

  #need(audio: AudioChannel, index: number): void {
    const chunk = audio.chunkAt(index);
    const found = this.#found;
    if (chunk >= 0) {
      if (!this.#residency.touch(chunk)) return;
    } else {
      if (!audio.canBeLoaded(index)) return;
      const ahead = this.#walk.soundsAt(index) - this.#begin + this.#later;
      if (this.#inStandBy) found.missingInStandBy++;
      else if (ahead < this.#horizon.readyFrames) found.missing++;
      if (!audio.isAsked(index)) this.#wants.add(audio, index, this.#frame + ahead);
    }
    if (this.#inStandBy) found.neededInStandBy++;
    else found.needed++;
  }
}
