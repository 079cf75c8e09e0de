/**
 * Counts the frames of an input and makes pieces of them, in buffers that are lent and given back. Worker; allocates only
 * where no buffer has come back yet.
 */
import type { CountedPiece } from '../protocol/counted.js';

/** What is read of the browser's AudioData (WebCodecs). */
export interface CapturedData {
  readonly sampleRate: number;
  readonly numberOfFrames: number;
  readonly numberOfChannels: number;
  copyTo(into: Float32Array<ArrayBuffer>, how: { readonly planeIndex: number; readonly format: 'f32-planar' }): void;
  close(): void;
}

export interface PieceRules {
  readonly sampleRate: number;
  readonly channels: number;
}

/** Seconds that may wait to be taken; what comes after is counted and left out. */
const MOST_SECONDS = 10;

export class PieceMaker {
  readonly #rules: PieceRules;
  readonly #post: (piece: CountedPiece, transfer: ArrayBuffer[]) => void;
  readonly #free: Float32Array<ArrayBuffer>[] = [];
  #frame = 0;
  #lent = 0;

  constructor(rules: PieceRules, post: (piece: CountedPiece, transfer: ArrayBuffer[]) => void) {
    this.#rules = rules;
    this.#post = post;
  }

  /** Takes what was captured next, and closes it. @returns why it cannot be used; null where it can. */
  take(data: CapturedData): 'other-rate' | 'unreadable' | null {
    try {
      if (data.sampleRate !== this.#rules.sampleRate) return 'other-rate';
      this.#makePiece(data, data.numberOfFrames);
      return null;
    } catch {
      return 'unreadable';
    } finally {
      data.close();
    }
  }

  /** A buffer has been emptied. */
  giveBack(buffer: Float32Array<ArrayBuffer>): void {
    this.#lent -= buffer.length;
    this.#free.push(buffer);
  }

  #makePiece(data: CapturedData, frames: number): void {
    const { channels, sampleRate } = this.#rules;
    const samples = this.#buffer(frames * channels);
    for (let c = 0; c < channels; c++) {
      const plane = samples.subarray(c * frames, (c + 1) * frames);
      if (c < data.numberOfChannels) data.copyTo(plane, { planeIndex: c, format: 'f32-planar' });
      else plane.fill(0);
    }
    const frame = this.#frame;
    this.#frame += frames;
    if (this.#lent + samples.length > MOST_SECONDS * sampleRate * channels) {
      this.#free.push(samples);
      return;
    }
    this.#lent += samples.length;
    this.#post({ frame, frames, channels, samples }, [samples.buffer]);
  }

  #buffer(length: number): Float32Array<ArrayBuffer> {
    const buffer = this.#free.pop();
    return buffer !== undefined && buffer.length >= length ? buffer : new Float32Array(length);
  }
}
