/** Takes counted pieces of the input from a port to the engine, and gives their buffers back. Audio thread. */
import type { Engine } from '../core/render/engine.js';
import type { CountedPiece } from '../protocol/counted.js';

/** @param failed an engine that throws is out of step. */
export function takeFrom(port: MessagePort, engine: Engine, failed: (error: unknown) => void): void {
  const channels: Float32Array[] = [];
  engine.useCounted();
  port.onmessage = ({ data }: MessageEvent<CountedPiece>) => {
    const { frame, frames, samples } = data;
    try {
      channels.length = data.channels;
      for (let c = 0; c < data.channels; c++) channels[c] = samples.subarray(c * frames, (c + 1) * frames);
      engine.takeCounted(channels, frame, frames);
    } catch (error) {
      failed(error);
    }
    port.postMessage(samples, [samples.buffer]);
  };
}
