/**
 * The pool: audio in chunks of CHUNK_FRAMES mono frames, addressed by index. Its memory is slabs that the page
 * allocates, touches and hands over, because a first touch of memory on the audio thread is audible. Audio thread;
 * taking and giving back a chunk allocates nothing.
 */
export const CHUNK_FRAMES = 16_384;
const CHUNK_SHIFT = 14;
/** 8 MB a slab. */
export const SLAB_CHUNKS = 128;
export const SLAB_FRAMES = SLAB_CHUNKS * CHUNK_FRAMES;
const SLAB_SHIFT = 7;

export class ChunkPool {
  readonly #slabs: Float32Array[] = [];
  #free: number[] = [];

  get freeChunks(): number {
    return this.#free.length;
  }

  get chunks(): number {
    return this.#slabs.length * SLAB_CHUNKS;
  }

  /** Grows the list of free chunks: call while handling a command, never in `process`. */
  addSlab(slab: Float32Array): void {
    if (slab.length !== SLAB_FRAMES) {
      throw new RangeError(`Got a slab of ${String(slab.length)} frames when expected ${String(SLAB_FRAMES)}.`);
    }
    const first = this.chunks;
    this.#slabs.push(slab);
    for (let chunk = first + SLAB_CHUNKS - 1; chunk >= first; chunk--) this.#free.push(chunk);
  }

  /** A free chunk, with whatever is in it; −1 if there is none. */
  take(): number {
    return this.#free.pop() ?? -1;
  }

  giveBack(chunk: number): void {
    this.#free.push(chunk);
  }

  /** The slab that holds a chunk; its frames begin at `offsetOf(chunk)`. */
  slabOf(chunk: number): Float32Array {
    const slab = this.#slabs[chunk >> SLAB_SHIFT];
    if (slab === undefined)
      throw new RangeError(`Got chunk ${String(chunk)} when expected one below ${String(this.chunks)}.`);
    return slab;
  }

  offsetOf(chunk: number): number {
    return (chunk & (SLAB_CHUNKS - 1)) << CHUNK_SHIFT;
  }
}
