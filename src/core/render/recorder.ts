/**
 * Keeps what comes in: one recording at a time, unbroken, from a capture frame that may lie in the past. It goes two
 * ways: all channels to the page, to be journalled, and the channel in use to the pool, to be played at once. Audio
 * thread; allocates when a recording begins.
 */
import { frames } from '../units/index.js';
import type { AudioChannel, AudioStore } from './audio-store.js';
import { CAPTURE_FRAMES, CaptureBuffers } from './capture-buffers.js';
import type { EngineReport } from './commands.js';
import type { InputRing } from './ring.js';

/** Frames copied to the pool in one block at most: 64 kB. Catching up with a second of the past takes 3 blocks. */
const COPY_FRAMES = 16_384;
/** Samples copied for the page in one block at most: 128 kB. A minute of the past is sent in half a second. */
const SEND_SAMPLES = 32_768;

interface OpenRecording {
  readonly audio: number;
  /** Input channels that can be played at once. */
  readonly channels: readonly number[];
  /** Capture frame of its first frame. */
  readonly starts: number;
  /** One for each of `channels`. */
  readonly playable: readonly AudioChannel[];
  /** Capture frame after its last; Infinity while passes are open. */
  ends: number;
  pooled: number;
  sent: number;
}

export class Recorder {
  readonly #ring: InputRing;
  readonly #store: AudioStore;
  readonly #report: (report: EngineReport) => void;
  readonly #buffers: CaptureBuffers;
  readonly #scratch = new Float32Array(COPY_FRAMES);
  /** Oldest first; all but the newest are only waiting to be sent. */
  readonly #open: OpenRecording[] = [];
  #nextAudio = 1;
  #poolWasFull = false;

  constructor(ring: InputRing, store: AudioStore, report: (report: EngineReport) => void) {
    this.#ring = ring;
    this.#store = store;
    this.#report = report;
    this.#buffers = new CaptureBuffers(ring.channels);
  }

  /** Capture frame after the newest that has come in or is on its way. */
  get due(): number {
    return this.#ring.due;
  }

  giveBack(buffer: Float32Array<ArrayBuffer>): void {
    this.#buffers.giveBack(buffer);
  }

  /**
   * Makes sure that channels are being recorded, at least from a capture frame on: goes on with the open recording
   * where that holds them, else begins one.
   * @returns the handle of the audio and the capture frame of its first frame.
   */
  keep(channels: readonly number[], from: number): { readonly audio: number; readonly starts: number } {
    const held = this.#open.findLast(
      (open) =>
        open.starts <= from &&
        open.ends > this.#ring.captured &&
        channels.every((channel) => open.channels.includes(channel)),
    );
    if (held !== undefined) {
      held.ends = Infinity;
      return held;
    }
    return this.#begin(channels, Math.max(from, this.#ring.oldestSafe), Infinity);
  }

  /**
   * Keeps what the ring holds, and what is on its way to it, as a recording of its own, beside one that goes on. It is
   * not to be played at once, so nothing of it goes to the pool.
   */
  keepPast(channels: readonly number[]): void {
    const { due, oldestSafe } = this.#ring;
    const { audio } = this.#begin([], oldestSafe, due);
    this.#report({ type: 'past-kept', at: frames(due), audio, channels });
  }

  /** A recording ends at a capture frame, or where it is now if that is later: nothing of it is taken away again. */
  endAt(audio: number, captureFrame: number): void {
    for (const open of this.#open) {
      if (open.audio === audio) open.ends = Math.max(captureFrame, open.sent, open.pooled);
    }
  }

  /**
   * Sends the rest of a recording up to a capture frame that has come in, where that is one buffer at most.
   * @returns whether all of it has gone to the page. A past that is still being caught up with takes some blocks.
   */
  sendUpTo(audio: number, captureFrame: number): boolean {
    const open = this.#open.find((each) => each.audio === audio);
    if (open === undefined || open.sent >= captureFrame) return true;
    const rest = captureFrame - open.sent;
    return rest <= CAPTURE_FRAMES && this.#send(open, rest);
  }

  /** Moves on what has come in, and nothing before it has. Call once a block, after the ring was written. */
  advance(): void {
    let left = Math.max(1, Math.floor(SEND_SAMPLES / (CAPTURE_FRAMES * this.#ring.channels)));
    for (const open of this.#open) {
      const captured = Math.min(this.#ring.captured, open.ends);
      this.#pool(open, captured);
      for (; left > 0 && captured - open.sent >= CAPTURE_FRAMES; left--) if (!this.#send(open, CAPTURE_FRAMES)) break;
      const isLast = left > 0 || open.sent >= open.ends;
      if (isLast && captured >= open.ends && open.pooled >= open.ends) this.#sendRest(open);
    }
    for (let i = this.#open.length - 1; i >= 0; i--) {
      const open = this.#open[i];
      if (open !== undefined && open.sent >= open.ends && open.pooled >= open.ends) this.#open.splice(i, 1);
    }
  }

  /** One with an end stands before the one that still grows, which stays the newest. */
  #begin(channels: readonly number[], starts: number, ends: number): OpenRecording {
    const audio = this.#nextAudio++;
    const playable = channels.map((channel) => this.#store.growing(audio, channel));
    const pooled = channels.length === 0 ? ends : starts;
    const made = { audio, channels, starts, playable, ends, pooled, sent: starts };
    const grows = (this.#open.at(-1)?.ends ?? 0) > this.#ring.captured;
    this.#open.splice(ends < Infinity && grows ? -1 : this.#open.length, 0, made);
    this.#report({ type: 'recording-started', audio, at: frames(starts), channels: this.#ring.channels });
    return made;
  }

  #pool(open: OpenRecording, captured: number): void {
    const count = Math.min(COPY_FRAMES, captured - open.pooled);
    if (count <= 0) return;
    for (let i = 0; i < open.channels.length; i++) {
      const into = open.playable[i];
      this.#ring.read(open.channels[i] ?? 0, open.pooled, count, this.#scratch, 0);
      if (into?.write(open.pooled - open.starts, this.#scratch, 0, count) === true) continue;
      // Where a slab is still to come, the frames wait in the ring for it.
      if (this.#poolWasFull || !this.#store.isWhole) return;
      this.#poolWasFull = true;
      for (const each of open.playable) each.foundNoRoom = true;
      return this.#reportFull(captured);
    }
    this.#poolWasFull = false;
    open.pooled += count;
    for (const into of open.playable) {
      into.availableFrames = open.pooled - open.starts;
      into.foundNoRoom = false;
    }
  }

  #reportFull(captured: number): void {
    this.#report({ type: 'fault', at: frames(captured), kind: 'pool-full', count: 1 });
  }

  /** @returns false where no buffer was free: the frames wait in the ring. */
  #send(open: OpenRecording, count: number): boolean {
    const buffer = this.#buffers.take();
    if (buffer === undefined) return false;
    const lost = this.#ring.oldest - open.sent;
    if (lost > 0) this.#report({ type: 'fault', at: frames(open.sent), kind: 'frames-lost', count: lost });
    for (let c = 0; c < this.#ring.channels; c++) this.#ring.read(c, open.sent, count, buffer, c * count);
    this.#report({
      type: 'captured',
      audio: open.audio,
      start: frames(open.sent - open.starts),
      frames: frames(count),
      channels: this.#ring.channels,
      buffer,
    });
    open.sent += count;
    return true;
  }

  /** What is left when the end has come in. What finds no buffer is tried again at the next block. */
  #sendRest(open: OpenRecording): void {
    while (open.sent < open.ends) {
      if (!this.#send(open, Math.min(CAPTURE_FRAMES, open.ends - open.sent))) return;
    }
    for (const playable of open.playable) playable.hasEnded = true;
    this.#report({ type: 'recording-ended', audio: open.audio, frames: frames(open.ends - open.starts) });
  }
}
