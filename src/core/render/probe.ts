/**
 * A short noise that is sent to the player's output and listened for: how the round trip is measured. It joins the
 * foldback before the limiter, where round trips count from, only while nothing plays. Audio thread; the memory for what
 * is heard comes with the command, so that nothing is allocated here.
 */
import type { Frames } from '../units/index.js';
import { frames } from '../units/index.js';
import type { EngineReport, RefusedBecause } from './commands.js';
import type { InputRing } from './ring.js';

/** Samples copied out of the ring in one block at most: 128 kB. */
const COPY_SAMPLES = 32_768;

interface Out {
  readonly samples: Float32Array;
  /** Planar: every channel of the input, `listens` frames each. */
  readonly heard: Float32Array<ArrayBuffer>;
  readonly listens: number;
  /** Engine frame of its first sample. */
  readonly at: number;
  copied: number;
}

export class Probe {
  readonly #ring: InputRing;
  readonly #report: (report: EngineReport) => void;
  #out: Out | null = null;

  constructor(ring: InputRing, report: (report: EngineReport) => void) {
    this.#ring = ring;
    this.#report = report;
  }

  /**
   * Sends samples from an engine frame on that has not been rendered, and listens from that frame on.
   * @param heard is filled with what comes in and reported; room for whole frames of every channel of the input.
   * @returns why not; null where it is on its way.
   */
  send(samples: Float32Array, heard: Float32Array<ArrayBuffer>, at: Frames): RefusedBecause | null {
    if (this.#out !== null) return 'still-measuring';
    this.#out = { samples, heard, listens: Math.floor(heard.length / this.#ring.channels), at, copied: 0 };
    return null;
  }

  /** Something else is to be heard now: what was sent is of no use any more. */
  drop(at: Frames): void {
    if (this.#out === null) return;
    this.#out = null;
    this.#report({ type: 'probe-dropped', at });
  }

  /** Adds it to engine frames [frame, frame + count). */
  add(frame: number, count: number, into: Float64Array): void {
    const out = this.#out;
    if (out === null) return;
    const end = Math.min(frame + count, out.at + out.samples.length);
    for (let at = Math.max(frame, out.at); at < end; at++) {
      into[at - frame] = (into[at - frame] ?? 0) + (out.samples[at - out.at] ?? 0);
    }
  }

  /** Takes what has come in. Call once a block, after the ring was written. */
  advance(): void {
    const out = this.#out;
    if (out === null) return;
    const most = Math.floor(COPY_SAMPLES / this.#ring.channels);
    const count = Math.min(most, this.#ring.captured - out.at - out.copied, out.listens - out.copied);
    if (count > 0) {
      for (let c = 0; c < this.#ring.channels; c++) {
        this.#ring.read(c, out.at + out.copied, count, out.heard, c * out.listens + out.copied);
      }
      out.copied += count;
    }
    if (out.copied < out.listens) return;
    this.#out = null;
    this.#report({
      type: 'probe-heard',
      at: frames(out.at),
      frames: frames(out.listens),
      channels: this.#ring.channels,
      buffer: out.heard,
    });
  }
}
