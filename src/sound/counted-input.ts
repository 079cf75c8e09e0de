/**
 * Input that is counted where it is captured, where the browser hands it out frame by frame: a worker reads it and sends
 * it to the audio thread. The processor's own input may have silence put in and frames dropped; this has not.
 */
import type { CountInput, FromCounter } from '../protocol/counted.js';

/** MediaStreamTrackProcessor (W3C, mediacapture-transform): on the page in some browsers. */
type TrackProcessor = new (of: { readonly track: MediaStreamTrack; readonly maxBufferSize?: number }) => {
  readonly readable: ReadableStream<AudioData>;
};

/** Pieces that the browser holds for the worker at most: about a second. */
const MOST_WAITING = 100;
/** The first frames come within so long, or the other way is taken. */
const FIRST_MS = 2000;

export interface CountedInput {
  /** Where the pieces come out; for the audio thread. */
  readonly port: MessagePort;
  /** Calls back when no more will come. */
  whenEnded(tell: () => void): void;
  stop(): void;
}

/** @returns null where the browser has no such thing, or gives it in another rate or form. */
export async function countInput(
  track: MediaStreamTrack,
  workerUrl: string,
  wanted: Pick<CountInput<unknown>, 'sampleRate' | 'channels'>,
): Promise<CountedInput | null> {
  const stream = framesOf(track);
  if (stream === null) return null;
  const worker = new Worker(workerUrl, { type: 'module' });
  const { port1, port2 } = new MessageChannel();
  let ended: () => void = () => undefined;
  const counts = await new Promise<boolean>((resolve) => {
    setTimeout(resolve, FIRST_MS, false);
    worker.onerror = () => {
      resolve(false);
      ended();
    };
    worker.onmessage = ({ data }: MessageEvent<FromCounter>) => {
      resolve(data.type === 'counting');
      if (data.type === 'ended') ended();
    };
    worker.postMessage({ stream, ...wanted } satisfies CountInput<ReadableStream<AudioData>>, [
      port1,
      stream as ReadableStream<AudioData> & Transferable,
    ]);
  });
  if (!counts) {
    worker.terminate();
    return null;
  }
  return {
    port: port2,
    whenEnded: (tell) => {
      ended = tell;
    },
    stop: () => {
      worker.terminate();
    },
  };
}

/** Null for what is no track of the browser's own. */
function framesOf(track: MediaStreamTrack): ReadableStream<AudioData> | null {
  const { MediaStreamTrackProcessor } = globalThis as { MediaStreamTrackProcessor?: TrackProcessor };
  if (MediaStreamTrackProcessor === undefined) return null;
  try {
    return new MediaStreamTrackProcessor({ track, maxBufferSize: MOST_WAITING }).readable;
  } catch {
    return null;
  }
}
