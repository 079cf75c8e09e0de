/**
 * Which chunks of the pool may be let go, and in which order: the one that was needed longest ago goes first. *Needed*
 * is said by whoever looks ahead, voice by voice, in rounds; what was needed in this round or the last one stays. What
 * cannot be loaded again (a recording that is not stored yet) never enters. Audio thread; allocates in the constructor
 * only, and every step takes the same small time.
 */
const OUT = -1;

/** Whoever keeps a table of where its chunks are. */
export interface ChunkOwner {
  /** The chunk with that number of the owner's is not here any more. */
  forget(index: number): void;
}

export class Residency {
  /** A ring through `end`: from the chunk needed longest ago to the one needed last. */
  readonly #next: Int32Array;
  readonly #previous: Int32Array;
  readonly #end: number;
  /** The round in which a chunk was needed last. */
  readonly #needed: Int32Array;
  readonly #owner: (ChunkOwner | null)[];
  readonly #index: Int32Array;
  #round = 2;
  #size = 0;

  /** @param chunks that the pool will ever have. */
  constructor(chunks: number) {
    this.#end = chunks;
    this.#next = new Int32Array(chunks + 1).fill(OUT);
    this.#previous = new Int32Array(chunks + 1).fill(OUT);
    this.#next[chunks] = chunks;
    this.#previous[chunks] = chunks;
    this.#needed = new Int32Array(chunks);
    this.#index = new Int32Array(chunks);
    this.#owner = new Array<ChunkOwner | null>(chunks).fill(null);
  }

  /** Chunks that may be let go once they are not needed. */
  get size(): number {
    return this.#size;
  }

  /** Everything that is needed will be named again from here on. */
  beginRound(): void {
    this.#round++;
  }

  /** A chunk of the pool holds audio that can be loaded again. It counts as needed now. */
  enter(chunk: number, owner: ChunkOwner, index: number): void {
    this.#owner[chunk] = owner;
    this.#index[chunk] = index;
    this.#needed[chunk] = this.#round;
    this.#insertAfter(this.#previous[this.#end] ?? this.#end, chunk);
    this.#size++;
  }

  /** The chunk is needed. @returns true where nobody had said so in this round. */
  touch(chunk: number): boolean {
    if (this.#needed[chunk] === this.#round || this.#next[chunk] === OUT) return false;
    this.#needed[chunk] = this.#round;
    this.#remove(chunk);
    this.#insertAfter(this.#previous[this.#end] ?? this.#end, chunk);
    return true;
  }

  /**
   * A voice has played the chunk for the last time: it goes before all others, unless somebody needs it. The newest of
   * these goes first, so that the beginning of a long layer is there longest for another start.
   */
  retire(chunk: number): void {
    const needed = this.#needed[chunk] ?? 0;
    if (needed === 0 || needed >= this.#round - 1 || this.#next[chunk] === OUT) return;
    this.#needed[chunk] = 0;
    this.#remove(chunk);
    this.#insertAfter(this.#end, chunk);
  }

  /** Lets the chunk go that was needed longest ago. @returns it; −1 where all are needed. */
  evict(): number {
    const oldest = this.#next[this.#end] ?? this.#end;
    if (oldest === this.#end || (this.#needed[oldest] ?? 0) >= this.#round - 1) return OUT;
    this.#remove(oldest);
    this.#next[oldest] = OUT;
    this.#size--;
    this.#owner[oldest]?.forget(this.#index[oldest] ?? 0);
    this.#owner[oldest] = null;
    return oldest;
  }

  #insertAfter(before: number, chunk: number): void {
    const after = this.#next[before] ?? this.#end;
    this.#next[before] = chunk;
    this.#previous[chunk] = before;
    this.#next[chunk] = after;
    this.#previous[after] = chunk;
  }

  #remove(chunk: number): void {
    const before = this.#previous[chunk] ?? this.#end;
    const after = this.#next[chunk] ?? this.#end;
    this.#next[before] = after;
    this.#previous[after] = before;
  }
}
