/**
 * Which chunks of its audio a voice needs over a span of song positions, and whether they are here. The iterations are
 * those of voice-iterations.ts. Audio thread; allocates in constructors only (no infinity is passed or returned, since
 * that would be a number in memory of its own).
 */
import type { AudioChannel } from './audio-store.js';
import { CHUNK_FRAMES } from './pool.js';
import type { VoiceRow } from './voice-iterations.js';
import { endOf } from './voice-iterations.js';

/** A voice as it sounds: iterations that begin before `from`, or at `cut` and later, are none of its. */
export interface Sounding {
  readonly row: VoiceRow;
  readonly from: number;
  readonly cut: number;
}

/**
 * Goes through the chunks that sound in a span of positions, iteration after iteration, each at least once. What comes
 * after an iteration that lies in the span as a whole would only name the same again, and is left out.
 */
export class ChunkWalk {
  /** The chunks [first, after) of the audio sound in the iteration that it stands at. */
  first = 0;
  after = 0;
  #voice: Sounding | null = null;
  #begin = 0;
  #end = 0;
  #round = 0;
  #last = 0;
  /** Position at which frame 0 of the audio would lie, and the first position of the iteration in the span. */
  #zero = 0;
  #sounds = 0;

  /** Before the first iteration that sounds at positions [begin, end). */
  start(voice: Sounding, begin: number, end: number): void {
    this.#voice = voice;
    this.#begin = begin;
    this.#end = end;
    this.#round = firstRound(voice, begin);
    this.#last = lastRound(voice.row, end);
  }

  /** Goes on to the next iteration. @returns false where there is none. */
  next(): boolean {
    while (this.#voice !== null && this.#round <= this.#last) {
      const { row, cut } = this.#voice;
      const bodyAt = row.start + this.#round * row.period;
      if (bodyAt >= row.end || bodyAt >= cut) return false;
      this.#round++;
      const starts = bodyAt - row.lead;
      const ends = endOf(row, bodyAt, cut);
      if (this.#begin <= starts && ends <= this.#end) this.#last = -1;
      if (this.#standAt(bodyAt - row.bodyStart, Math.max(this.#begin, starts), Math.min(this.#end, ends))) return true;
    }
    return false;
  }

  /** The position at which a chunk of this iteration begins to sound, or sounds already. */
  soundsAt(index: number): number {
    return Math.max(this.#sounds, this.#zero + index * CHUNK_FRAMES);
  }

  #standAt(zero: number, begin: number, end: number): boolean {
    this.#zero = zero;
    this.#sounds = begin;
    this.first = Math.max(0, Math.floor((begin - zero) / CHUNK_FRAMES));
    this.after = Math.ceil((end - zero) / CHUNK_FRAMES);
    return begin < end;
  }
}

/** The first position in [begin, end) at which something that should sound is not in the pool; `end` for none. */
export function firstMissing(voice: Sounding, audio: AudioChannel, begin: number, end: number): number {
  const { row, cut } = voice;
  let found = end;
  const last = lastRound(row, end);
  for (let round = firstRound(voice, begin); round <= last; round++) {
    const bodyAt = row.start + round * row.period;
    if (bodyAt >= row.end || bodyAt >= cut) break;
    const zero = bodyAt - row.bodyStart;
    const first = Math.max(begin, bodyAt - row.lead) - zero;
    const missing = missingFrame(audio, first, Math.min(end, endOf(row, bodyAt, cut)) - zero);
    if (missing >= 0) found = Math.min(found, zero + missing);
  }
  return found;
}

/** The first position from `begin` on at which nothing is missing; `end` where it is none before that. */
export function firstPresent(voice: Sounding, audio: AudioChannel, begin: number, end: number): number {
  let at = begin;
  while (at < end && firstMissing(voice, audio, at, at + 1) === at) at = missingUntil(voice, audio, at, end);
  return Math.min(at, end);
}

/** Something is missing at a position: where the first of what is missing there may be here again, at most `end`. */
function missingUntil(voice: Sounding, audio: AudioChannel, at: number, end: number): number {
  const { row, cut } = voice;
  let until = end;
  const last = lastRound(row, at + 1);
  for (let round = firstRound(voice, at); round <= last; round++) {
    const bodyAt = row.start + round * row.period;
    if (bodyAt >= row.end || bodyAt >= cut) break;
    const ends = endOf(row, bodyAt, cut);
    const zero = bodyAt - row.bodyStart;
    if (at >= ends || missingFrame(audio, at - zero, at + 1 - zero) < 0) continue;
    const nextChunk = (Math.floor((at - zero) / CHUNK_FRAMES) + 1) * CHUNK_FRAMES;
    until = Math.min(until, ends, zero + nextChunk);
  }
  return Math.max(until, at + 1);
}

/** The first frame in [first, after) that should be in the pool and is not; −1 for none. */
function missingFrame(audio: AudioChannel, first: number, after: number): number {
  const end = audio.hasEnded ? Math.min(after, audio.availableFrames) : after;
  for (let at = Math.max(0, first); at < end;) {
    if (at >= audio.availableFrames) return at;
    const index = Math.floor(at / CHUNK_FRAMES);
    if (audio.chunkAt(index) < 0) return at;
    at = Math.min((index + 1) * CHUNK_FRAMES, audio.availableFrames);
  }
  return -1;
}

/** The first iteration that begins at `from` or later and has not ended at a position. */
function firstRound({ row, from }: Sounding, position: number): number {
  const { start, bodyFrames, tail, period } = row;
  // What the end of the section cuts may ring on beyond the end of its body.
  const past = Math.floor((position - start - bodyFrames - Math.max(tail, row.cutFrames)) / period) + 1;
  const begun = from > start ? Math.ceil((from - start) / period) : 0;
  return Math.max(0, past, begun);
}

/** The last iteration that has begun before a position. */
const lastRound = (row: VoiceRow, end: number): number => Math.floor((end - 1 + row.lead - row.start) / row.period);
