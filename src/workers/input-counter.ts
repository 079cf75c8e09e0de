/**
 * The worker that reads the input where the browser hands it out frame by frame, and sends it to the audio thread. It is
 * away from the page, whose work cannot hold it up, and nothing is put in or dropped on the way.
 */
import type { CountInput, CountedPiece, FromCounter } from '../protocol/counted.js';
import { PieceMaker } from './piece-maker.js';

function tell(message: FromCounter): void {
  postMessage(message);
}

async function count({ stream, sampleRate, channels }: CountInput<ReadableStream<AudioData>>, port: MessagePort) {
  const maker = new PieceMaker({ sampleRate, channels }, (piece: CountedPiece, transfer) => {
    port.postMessage(piece, transfer);
  });
  port.onmessage = ({ data }: MessageEvent<Float32Array<ArrayBuffer>>) => {
    maker.giveBack(data);
  };
  const reader = stream.getReader();
  let counting = false;
  for (;;) {
    const { done, value } = await reader.read();
    if (done) break;
    const why = maker.take(value);
    if (why !== null && !counting) {
      tell({ type: 'refused', why });
      await reader.cancel();
      return;
    }
    if (why !== null) break;
    if (!counting) tell({ type: 'counting' });
    counting = true;
  }
  tell({ type: 'ended' });
}

onmessage = ({ data, ports }: MessageEvent<CountInput<ReadableStream<AudioData>>>) => {
  const [port] = ports;
  if (port === undefined) return;
  count(data, port).catch(() => {
    tell({ type: 'ended' });
  });
};
