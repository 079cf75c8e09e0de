/**
 * What one voice sounds like at a song position: the sum of its iterations that overlap there. A pure function of the
 * position, so any split into blocks gives the same samples and every round is the same. Audio thread; allocates
 * nothing.
 */
import { Voice, VOICE_FIELDS } from '../program/program.js';
import type { AudioChannel } from './audio-store.js';
import { MISSING } from './audio-store.js';
import type { ChunkPool } from './pool.js';
import { CHUNK_FRAMES } from './pool.js';

/** An iteration that the end of its section cuts runs on into its own next frames for so long, fading. */
export const CUT_SECONDS = 0.01;

/** A voice's row, read once. */
export class VoiceRow {
  id = 0;
  audio = 0;
  channel = 0;
  bodyStart = 0;
  bodyFrames = 1;
  lead = 0;
  tail = 0;
  start = 0;
  end = Infinity;
  fadeInAt = 0;
  fadeIn = 0;
  fadeOutAt = 0;
  fadeOut = 0;
  strip = 0;
  period = 1;
  /** CUT_SECONDS in frames. */
  cutFrames = 480;

  read(rows: Float64Array, index: number): void {
    const at = index * VOICE_FIELDS;
    const get = (column: number): number => rows[at + column] ?? 0;
    this.id = get(Voice.id);
    this.audio = get(Voice.audio);
    this.channel = get(Voice.channel);
    this.bodyStart = get(Voice.bodyStart);
    this.bodyFrames = get(Voice.bodyFrames);
    this.lead = get(Voice.lead);
    this.tail = get(Voice.tail);
    this.start = get(Voice.start);
    this.end = get(Voice.end);
    this.fadeInAt = get(Voice.fadeInAt);
    this.fadeIn = get(Voice.fadeIn);
    this.fadeOutAt = get(Voice.fadeOutAt);
    this.fadeOut = get(Voice.fadeOut);
    this.strip = get(Voice.strip);
    this.period = get(Voice.period);
  }

  copy(other: VoiceRow): void {
    Object.assign(this, other);
  }
}

/** What is played: passed as one, since an infinity that is passed by itself would be a number in memory of its own. */
interface Iterated {
  readonly row: VoiceRow;
  /** Iterations whose body begins before this position stay silent. */
  readonly from: number;
  /**
   * Iterations whose body begins at this position or later stay silent; one whose body reaches over it is cut there,
   * under a short fade; one whose body ended before goes on into its tail.
   */
  readonly cut: number;
  readonly audio: AudioChannel | undefined;
  /** Fade tables that the row's indices point into. */
  readonly curves: Float32Array;
}

/**
 * Adds the voice's samples at positions [position, position + count) to `into`, which the caller has cleared.
 * @returns frames that should have sounded but were not in the pool; not those that are still coming in.
 */
export function addIterations(
  voice: Iterated,
  pool: ChunkPool,
  position: number,
  count: number,
  into: Float64Array,
): number {
  const { row, from, cut, audio } = voice;
  if (audio === undefined) return 0;
  const { period } = row;
  const first = Math.max(0, Math.floor((position - row.start - row.bodyFrames - row.tail) / period) + 1);
  const last = Math.floor((position + count - 1 + row.lead - row.start) / period);
  let late = 0;
  for (let k = first; k <= last; k++) {
    const bodyAt = row.start + k * period;
    if (bodyAt < from || bodyAt >= row.end || bodyAt >= cut) continue;
    const begin = Math.max(position, bodyAt - row.lead);
    const end = Math.min(position + count, endOf(row, bodyAt, cut));
    if (end > begin) late += addIteration(voice, audio, pool, bodyAt, begin, end, position, into);
  }
  return late;
}

/** Where an iteration falls silent, its body beginning at `bodyAt`: at the end of its tail, or when it has been cut. */
export function endOf(row: VoiceRow, bodyAt: number, cut: number): number {
  const ends = bodyAt + row.bodyFrames + row.tail;
  return bodyAt + row.bodyFrames > cut ? Math.min(ends, cut + row.cutFrames) : ends;
}

/** One iteration over positions [begin, end), split at chunks, at the edges of its fades and where it is cut. */
function addIteration(
  voice: Iterated,
  audio: AudioChannel,
  pool: ChunkPool,
  bodyAt: number,
  begin: number,
  end: number,
  position: number,
  into: Float64Array,
): number {
  const { row, curves } = voice;
  const cut = bodyAt + row.bodyFrames > voice.cut ? voice.cut : Infinity;
  const starts = bodyAt - row.lead;
  const ends = bodyAt + row.bodyFrames + row.tail;
  const fadeInEnds = starts + row.fadeIn;
  const fadeOutBegins = ends - row.fadeOut;
  let late = 0;
  let at = begin;
  while (at < end) {
    const frame = row.bodyStart + at - bodyAt;
    const index = Math.floor(frame / CHUNK_FRAMES);
    let stop = Math.min(end, at + CHUNK_FRAMES - (frame - index * CHUNK_FRAMES));
    if (at < fadeInEnds) stop = Math.min(stop, fadeInEnds);
    if (at < fadeOutBegins) stop = Math.min(stop, fadeOutBegins);
    if (at < cut) stop = Math.min(stop, cut);
    if (frame < audio.availableFrames) stop = Math.min(stop, at + audio.availableFrames - frame);
    const chunk = frame >= audio.availableFrames ? MISSING : audio.chunkAt(index);
    if (chunk < 0) {
      if (audio.isDue(frame)) late += stop - at;
    } else {
      const slab = pool.slabOf(chunk);
      const source = pool.offsetOf(chunk) + frame - index * CHUNK_FRAMES;
      const target = at - position;
      const rises = at < fadeInEnds ? row.fadeInAt + at - starts : -1;
      const falls = at >= fadeOutBegins ? row.fadeOutAt + at - fadeOutBegins : -1;
      const fading = at >= cut ? at - cut : -1;
      addSpan(slab, source, curves, rises, falls, fading, row.cutFrames, into, target, stop - at);
    }
    at = stop;
  }
  return late;
}

function addSpan(
  slab: Float32Array,
  source: number,
  curves: Float32Array,
  rises: number,
  falls: number,
  fading: number,
  cutFrames: number,
  into: Float64Array,
  target: number,
  count: number,
): void {
  if (rises < 0 && falls < 0 && fading < 0) {
    for (let i = 0; i < count; i++) into[target + i] = (into[target + i] ?? 0) + (slab[source + i] ?? 0);
    return;
  }
  for (let i = 0; i < count; i++) {
    const rise = rises < 0 ? 1 : (curves[rises + i] ?? 0);
    const fall = falls < 0 ? 1 : (curves[falls + i] ?? 0);
    const left = fading < 0 ? 1 : 1 - (fading + i) / cutFrames;
    into[target + i] = (into[target + i] ?? 0) + (slab[source + i] ?? 0) * rise * fall * left;
  }
}
