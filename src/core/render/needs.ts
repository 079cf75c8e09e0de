/**
 * Which chunks of its audio a voice needs over a span of song positions, and whether they are here. The iterations are
 * those of voice-iterations.ts. Audio thread; allocates nothing.
 */
import type { AudioChannel } from './audio-store.js';
import { CHUNK_FRAMES } from './pool.js';
import type { VoiceRow } from './voice-iterations.js';
import { CUT_FRAMES } from './voice-iterations.js';

/** Told of what a voice needs. */
export interface NeedsVisitor {
  /** A chunk of the audio begins to sound, or sounds already, at a song position. */
  need(audio: AudioChannel, index: number, position: number): void;
}

/**
 * Names every chunk that sounds at positions [begin, end), each at least once, iteration after iteration. What comes
 * after an iteration that lies in the span as a whole would only name the same again, and is left out.
 */
export function visitNeeds(
  row: VoiceRow,
  from: number,
  cut: number,
  audio: AudioChannel,
  begin: number,
  end: number,
  visitor: NeedsVisitor,
): void {
  const last = lastRound(row, end);
  for (let round = firstRound(row, from, begin); round <= last; round++) {
    const bodyAt = row.start + round * row.bodyFrames;
    if (bodyAt >= row.end || bodyAt >= cut) return;
    const starts = bodyAt - row.lead;
    const ends = endOf(row, bodyAt, cut);
    if (Math.min(end, ends) <= Math.max(begin, starts)) continue;
    const zero = bodyAt - row.bodyStart;
    const first = Math.max(0, Math.floor((Math.max(begin, starts) - zero) / CHUNK_FRAMES));
    const after = Math.ceil((Math.min(end, ends) - zero) / CHUNK_FRAMES);
    for (let index = first; index < after; index++) {
      visitor.need(audio, index, Math.max(begin, starts, zero + index * CHUNK_FRAMES));
    }
    if (begin <= starts && ends <= end) return;
  }
}

/** The first position in [begin, end) at which something that should sound is not in the pool; Infinity for none. */
export function firstMissing(
  row: VoiceRow,
  from: number,
  cut: number,
  audio: AudioChannel,
  begin: number,
  end: number,
): number {
  let found = Infinity;
  const last = lastRound(row, end);
  for (let round = firstRound(row, from, begin); round <= last; round++) {
    const bodyAt = row.start + round * row.bodyFrames;
    if (bodyAt >= row.end || bodyAt >= cut) break;
    const zero = bodyAt - row.bodyStart;
    const first = Math.max(begin, bodyAt - row.lead) - zero;
    const after = Math.min(end, endOf(row, bodyAt, cut)) - zero;
    found = Math.min(found, zero + missingFrame(audio, first, after));
  }
  return found;
}

/** The first position from `begin` on at which nothing is missing; `end` where it is none before that. */
export function firstPresent(
  row: VoiceRow,
  from: number,
  cut: number,
  audio: AudioChannel,
  begin: number,
  end: number,
): number {
  let at = begin;
  while (at < end && firstMissing(row, from, cut, audio, at, at + 1) === at) {
    at = missingUntil(row, from, cut, audio, at);
  }
  return Math.min(at, end);
}

/** Something is missing at a position: where the first of what is missing there may be here again. */
function missingUntil(row: VoiceRow, from: number, cut: number, audio: AudioChannel, at: number): number {
  let until = Infinity;
  const last = lastRound(row, at + 1);
  for (let round = firstRound(row, from, at); round <= last; round++) {
    const bodyAt = row.start + round * row.bodyFrames;
    const ends = endOf(row, bodyAt, cut);
    if (bodyAt >= row.end || bodyAt >= cut || at < bodyAt - row.lead || at >= ends) continue;
    const zero = bodyAt - row.bodyStart;
    if (missingFrame(audio, at - zero, at + 1 - zero) === Infinity) continue;
    const nextChunk = (Math.floor((at - zero) / CHUNK_FRAMES) + 1) * CHUNK_FRAMES;
    until = Math.min(until, ends, zero + nextChunk);
  }
  return Math.max(until, at + 1);
}

/** The first frame in [first, after) that should be in the pool and is not; Infinity for none. */
function missingFrame(audio: AudioChannel, first: number, after: number): number {
  const end = audio.hasEnded ? Math.min(after, audio.availableFrames) : after;
  for (let at = Math.max(0, first); at < end;) {
    if (at >= audio.availableFrames) return at;
    const index = Math.floor(at / CHUNK_FRAMES);
    if (audio.chunkAt(index) < 0) return at;
    at = Math.min((index + 1) * CHUNK_FRAMES, audio.availableFrames);
  }
  return Infinity;
}

/** The first iteration that begins at `from` or later and has not ended at a position. */
function firstRound(row: VoiceRow, from: number, position: number): number {
  const { start, bodyFrames, tail } = row;
  // What the end of the section cuts rings on for CUT_FRAMES beyond the end of its body.
  const past = Math.floor((position - start - bodyFrames - Math.max(tail, CUT_FRAMES)) / bodyFrames) + 1;
  const begun = from === -Infinity ? 0 : Math.ceil((from - start) / bodyFrames);
  return Math.max(0, past, begun);
}

/** The last iteration that has begun before a position. */
const lastRound = (row: VoiceRow, end: number): number => Math.floor((end - 1 + row.lead - row.start) / row.bodyFrames);

const endOf = (row: VoiceRow, bodyAt: number, cut: number): number =>
  bodyAt + row.bodyFrames > cut ? cut + CUT_FRAMES : bodyAt + row.bodyFrames + row.tail;
