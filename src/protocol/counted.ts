/**
 * The wires of input that is counted where it is captured, in a worker: from page to worker, and from worker to audio
 * thread. Pieces go by transfer and their buffers come back by the same port.
 */

/** Over the port: frames [frame, frame + frames) as counted, planar: channel c at c × frames. */
export interface CountedPiece {
  readonly frame: number;
  readonly frames: number;
  readonly channels: number;
  /** May be longer than the piece. */
  readonly samples: Float32Array<ArrayBuffer>;
}

/** To the worker, with the port for the pieces. `Stream`: of AudioData, by transfer. */
export interface CountInput<Stream> {
  readonly stream: Stream;
  /** Input at another rate is refused. */
  readonly sampleRate: number;
  /** Channels that are wanted: those that are missing come as silence, more are left out. */
  readonly channels: number;
}

/** From the worker to the page. */
export type FromCounter =
  /** The first frames have come, and can be read. */
  | { readonly type: 'counting' }
  /** They have another rate, or a form that cannot be read. Nothing has been sent to the port. */
  | { readonly type: 'refused'; readonly why: 'other-rate' | 'unreadable' }
  /** No more will come. */
  | { readonly type: 'ended' };
