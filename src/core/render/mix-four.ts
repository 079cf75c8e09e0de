/**
 * The inner loops of the mix: one voice, or four in one pass over the block, at gains that stand still. The sums are the
 * same doubles, in the same order, either way, so it makes no difference to a single bit which way a block went.
 *
 * What makes them fast, measured: places in memory as 32-bit numbers (`| 0`: as doubles, each sample costs a conversion
 * and a check); four voices on their way into the cache while the four before them are added (`fetchFour`); and
 * everything read from arrays instead of being passed, since a number that is passed may be a number in memory of its
 * own. Eight voices in a pass are slower: there are no registers for so many gains.
 *
 * Audio thread; allocates nothing.
 */

/** Where voices lie in memory and how loud they are; the same place in every array is the same voice. */
export interface MixedVoices {
  readonly slabs: readonly Float32Array[];
  /** Engine frame to which a slab's first sample would belong. */
  readonly zeros: Float64Array;
  readonly lefts: Float64Array;
  readonly rights: Float64Array;
}

/** Samples in a cache line of 64 bytes. */
const LINE = 16;

/** What was fetched has to be used for something, or it would not be read. */
const sink = new Float64Array(1);

/** Adds a voice at engine frames [frame, frame + count). */
export function mixOne(
  voices: MixedVoices,
  voice: number,
  frame: number,
  count: number,
  left: Float64Array,
  right: Float64Array,
): void {
  const slab = voices.slabs[voice] as Float32Array;
  const at = (frame - (voices.zeros[voice] as number)) | 0;
  const l = voices.lefts[voice] as number;
  const r = voices.rights[voice] as number;
  for (let i = 0; i < count; i++) {
    const sample = slab[(at + i) | 0] as number;
    left[i] = (left[i] as number) + sample * l;
    right[i] = (right[i] as number) + sample * r;
  }
}

/** Adds four voices, in the order in which `four` names them. */
export function mixFour(
  voices: MixedVoices,
  four: Int32Array,
  frame: number,
  count: number,
  left: Float64Array,
  right: Float64Array,
): void {
  const { slabs, zeros, lefts, rights } = voices;
  const a = four[0] as number;
  const b = four[1] as number;
  const c = four[2] as number;
  const d = four[3] as number;
  const slabA = slabs[a] as Float32Array;
  const slabB = slabs[b] as Float32Array;
  const slabC = slabs[c] as Float32Array;
  const slabD = slabs[d] as Float32Array;
  const atA = (frame - (zeros[a] as number)) | 0;
  const atB = (frame - (zeros[b] as number)) | 0;
  const atC = (frame - (zeros[c] as number)) | 0;
  const atD = (frame - (zeros[d] as number)) | 0;
  const leftA = lefts[a] as number;
  const leftB = lefts[b] as number;
  const leftC = lefts[c] as number;
  const leftD = lefts[d] as number;
  const rightA = rights[a] as number;
  const rightB = rights[b] as number;
  const rightC = rights[c] as number;
  const rightD = rights[d] as number;
  for (let i = 0; i < count; i++) {
    const sampleA = slabA[(atA + i) | 0] as number;
    const sampleB = slabB[(atB + i) | 0] as number;
    const sampleC = slabC[(atC + i) | 0] as number;
    const sampleD = slabD[(atD + i) | 0] as number;
    left[i] = (left[i] as number) + sampleA * leftA + sampleB * leftB + sampleC * leftC + sampleD * leftD;
    right[i] = (right[i] as number) + sampleA * rightA + sampleB * rightB + sampleC * rightC + sampleD * rightD;
  }
}

/** Reads one sample of each cache line of four voices: the memory answers all of them at the same time. */
export function fetchFour(voices: MixedVoices, four: Int32Array, frame: number, count: number): void {
  const { slabs, zeros } = voices;
  const a = four[0] as number;
  const b = four[1] as number;
  const c = four[2] as number;
  const d = four[3] as number;
  const slabA = slabs[a] as Float32Array;
  const slabB = slabs[b] as Float32Array;
  const slabC = slabs[c] as Float32Array;
  const slabD = slabs[d] as Float32Array;
  const atA = (frame - (zeros[a] as number)) | 0;
  const atB = (frame - (zeros[b] as number)) | 0;
  const atC = (frame - (zeros[c] as number)) | 0;
  const atD = (frame - (zeros[d] as number)) | 0;
  let sum = 0;
  for (let i = 0; i < count; i += LINE) {
    sum += (slabA[(atA + i) | 0] as number) + (slabB[(atB + i) | 0] as number);
    sum += (slabC[(atC + i) | 0] as number) + (slabD[(atD + i) | 0] as number);
  }
  sink[0] = sum;
}
