/**
 * Buffers in which captured audio leaves for the page: made once, sent by transfer, emptied and given back. When none is
 * left, capture waits in the ring, and nothing is lost as long as the ring holds it. Audio thread.
 */
export const CAPTURE_FRAMES = 4096;
/** Two seconds of 48 kHz and more may be under way. */
const BUFFERS = 32;

export class CaptureBuffers {
  readonly #free: Float32Array<ArrayBuffer>[];

  constructor(channels: number) {
    this.#free = Array.from({ length: BUFFERS }, () => new Float32Array(CAPTURE_FRAMES * channels));
  }

  take(): Float32Array<ArrayBuffer> | undefined {
    return this.#free.pop();
  }

  giveBack(buffer: Float32Array<ArrayBuffer>): void {
    this.#free.push(buffer);
  }
}
