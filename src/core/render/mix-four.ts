/**
 * The fast path of the mix. Nearly always a voice is in the middle of its body, at a steady gain, inside one chunk; then
 * four of them are added in one pass over the block. The sums are the same doubles, in the same order, as when they are
 * added one by one, so it makes no difference to a single bit which way a block went. Audio thread; allocates nothing.
 */
import type { ChunkPool } from './pool.js';
import { CHUNK_FRAMES } from './pool.js';
import type { VoiceSlot } from './voice-slot.js';

/** Where a voice's samples lie for a block in which nothing happens to it. */
export class PlainSpan {
  slab: Float32Array = NOTHING;
  at = 0;
  left = 0;
  right = 0;
}

const NOTHING = new Float32Array(0);

/**
 * Finds the plain samples of a voice for engine frames [frame, frame + count).
 * @returns false where something happens in them: a fade, a seam, a ramp, the edge of a chunk, a cut, a late chunk.
 */
export function findPlain(slot: VoiceSlot, frame: number, count: number, pool: ChunkPool, span: PlainSpan): boolean {
  const { row, audio } = slot;
  slot.late.follow(slot, frame, count);
  if (!slot.late.isOpen(frame, count)) return false;
  if (audio === undefined || slot.left.movesAfter(frame) || slot.right.movesAfter(frame)) return false;
  const position = frame - slot.origin;
  const round = Math.floor((position - row.start) / row.bodyFrames);
  const body = row.start + round * row.bodyFrames;
  const ends = body + row.bodyFrames;
  if (round < 0 || body < slot.from || body >= row.end || ends > slot.cut) return false;
  if (position < body + row.tail || position < body - row.lead + row.fadeIn) return false;
  if (position + count > ends - row.lead || position + count > ends + row.tail - row.fadeOut) return false;
  const at = row.bodyStart + position - body;
  const into = at % CHUNK_FRAMES;
  if (at < 0 || into + count > CHUNK_FRAMES || at + count > audio.availableFrames) return false;
  const chunk = audio.chunkAt((at - into) / CHUNK_FRAMES);
  if (chunk < 0) return false;
  span.slab = pool.slabOf(chunk);
  span.at = pool.offsetOf(chunk) + into;
  span.left = slot.left.at(frame);
  span.right = slot.right.at(frame);
  return true;
}

/** Adds a plain span to the block. */
export function mixOne(span: PlainSpan, count: number, left: Float64Array, right: Float64Array): void {
  const { slab, at, left: l, right: r } = span;
  for (let i = 0; i < count; i++) {
    const sample = slab[at + i] as number;
    left[i] = (left[i] as number) + sample * l;
    right[i] = (right[i] as number) + sample * r;
  }
}

/** Adds four plain spans to the block, in order. */
export function mixFour(
  a: PlainSpan,
  b: PlainSpan,
  c: PlainSpan,
  d: PlainSpan,
  count: number,
  left: Float64Array,
  right: Float64Array,
): void {
  const { slab: slabA, at: atA, left: leftA, right: rightA } = a;
  const { slab: slabB, at: atB, left: leftB, right: rightB } = b;
  const { slab: slabC, at: atC, left: leftC, right: rightC } = c;
  const { slab: slabD, at: atD, left: leftD, right: rightD } = d;
  for (let i = 0; i < count; i++) {
    const sampleA = slabA[atA + i] as number;
    const sampleB = slabB[atB + i] as number;
    const sampleC = slabC[atC + i] as number;
    const sampleD = slabD[atD + i] as number;
    const l = left[i] as number;
    const r = right[i] as number;
    left[i] = l + sampleA * leftA + sampleB * leftB + sampleC * leftC + sampleD * leftD;
    right[i] = r + sampleA * rightA + sampleB * rightB + sampleC * rightC + sampleD * rightD;
  }
}
