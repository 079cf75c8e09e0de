/**
 * The pool: audio in chunks of CHUNK_FRAMES mono frames, addressed by index. Its memory is slabs that the page
 * allocates, touches and hands over, because a first touch of memory on the audio thread is audible; it never holds more
 * than its budget. Audio thread; taking and giving back a chunk allocates nothing.
 */
export const CHUNK_FRAMES = 16_384;
const CHUNK_SHIFT = 14;
/** 8 MB a slab. */
export const SLAB_CHUNKS = 128;
export const SLAB_FRAMES = SLAB_CHUNKS * CHUNK_FRAMES;
export const SLAB_BYTES = SLAB_FRAMES * Float32Array.BYTES_PER_ELEMENT;
const SLAB_SHIFT = 7;
/** 512 MB. */
export const DEFAULT_POOL_BYTES = 64 * SLAB_BYTES;

export class ChunkPool {
  /** Chunks that the budget allows: whole slabs. */
  readonly limit: number;
  readonly #slabs: Float32Array[] = [];
  readonly #free: Int32Array;
  #freeChunks = 0;

  /** @param bytes the budget; at least one slab. */
  constructor(bytes = DEFAULT_POOL_BYTES) {
    const slabs = Math.floor(bytes / SLAB_BYTES);
    if (!(slabs >= 1)) throw new RangeError(`Got a pool of ${bytes} bytes when expected at least ${SLAB_BYTES}.`);
    this.limit = slabs * SLAB_CHUNKS;
    this.#free = new Int32Array(this.limit);
  }

  get freeChunks(): number {
    return this.#freeChunks;
  }

  get chunks(): number {
    return this.#slabs.length * SLAB_CHUNKS;
  }

  /** Whether all memory of the budget is here. */
  get isWhole(): boolean {
    return this.chunks >= this.limit;
  }

  /** Takes a slab over. Call while handling a command, never in `process`. */
  addSlab(slab: Float32Array): void {
    if (slab.length !== SLAB_FRAMES) {
      throw new RangeError(`Got a slab of ${slab.length} frames when expected ${SLAB_FRAMES}.`);
    }
    if (this.isWhole) throw new RangeError(`Got another slab when expected at most ${this.limit / SLAB_CHUNKS}.`);
    const first = this.chunks;
    this.#slabs.push(slab);
    for (let chunk = first + SLAB_CHUNKS - 1; chunk >= first; chunk--) this.giveBack(chunk);
  }

  /** A free chunk, with whatever is in it; −1 if there is none. */
  take(): number {
    if (this.#freeChunks === 0) return -1;
    this.#freeChunks--;
    return this.#free[this.#freeChunks] ?? -1;
  }

  giveBack(chunk: number): void {
    this.#free[this.#freeChunks] = chunk;
    this.#freeChunks++;
  }

  /** The slab that holds a chunk; its frames begin at `offsetOf(chunk)`. */
  slabOf(chunk: number): Float32Array {
    const slab = this.#slabs[chunk >> SLAB_SHIFT];
    if (slab === undefined) throw new RangeError(`Got chunk ${chunk} when expected one below ${this.chunks}.`);
    return slab;
  }

  offsetOf(chunk: number): number {
    return (chunk & (SLAB_CHUNKS - 1)) << CHUNK_SHIFT;
  }
}
