/** The fade tables of a program, each distinct one once. */
import { crossfadeTables } from '../seam/crossfade.js';
import type { Frames } from '../units/index.js';

export class CurveShelf {
  readonly #places = new Map<string, number>();
  readonly #tables: Float32Array[] = [];
  #length = 0;

  /** First index of the table that rises over `length` frames; `shape` as in Seam. */
  rising(length: Frames, shape: number): number {
    return this.#place('rising', length, shape);
  }

  /** The same for the one that falls. */
  falling(length: Frames, shape: number): number {
    return this.#place('falling', length, shape);
  }

  toArray(): Float32Array<ArrayBuffer> {
    const curves = new Float32Array(this.#length);
    let at = 0;
    for (const table of this.#tables) {
      curves.set(table, at);
      at += table.length;
    }
    return curves;
  }

  #place(direction: 'rising' | 'falling', length: Frames, shape: number): number {
    if (length === 0) return 0;
    const key = `${direction}/${String(length)}/${String(shape)}`;
    const known = this.#places.get(key);
    if (known !== undefined) return known;
    const { fadeIn, fadeOut } = crossfadeTables(length, shape);
    const place = this.#length;
    this.#places.set(key, place);
    this.#tables.push(direction === 'rising' ? fadeIn : fadeOut);
    this.#length += length;
    return place;
  }
}
