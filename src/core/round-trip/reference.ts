/**
 * The reference cable: a short sequence goes out at every bar line on a spare output and comes back on a spare input, so
 * every bar has its own exact round trip, whatever a glitch did in between.
 */
import type { Frames } from '../units/index.js';
import { frames, QuantityError } from '../units/index.js';
import { Correlator } from './correlator.js';
import { maximumLengthSequence } from './sequence.js';
import { searchCorrelation } from './search.js';

export interface ReferenceBar {
  /** Which of the sent ones. */
  readonly index: number;
  /** Of this bar alone; null where the sequence is lost: not there, torn by a glitch, or beyond what was captured. */
  readonly roundTrip: Frames | null;
  /** Of the peak, 0 where nothing was captured. Below 4 it is lost. */
  readonly prominence: number;
}

export interface ReferenceTrack {
  /** What the spare input captured. */
  readonly samples: Float32Array;
  /** Capture frame of its first sample. */
  readonly start: Frames;
}

/**
 * Order 11: 43 ms at 48 kHz, a seventh of the shortest bar (0.3 s). Four different ones take turns, so that no bar is
 * taken for a neighbour, however far the round trip stepped.
 */
const ORDER = 11;
const LENGTH = 2 ** ORDER - 1;
export const REFERENCE_TURNS = 4;
/** A cable has no reflections. */
const NONE = frames(0);
/** Beside the window, so that the peak's neighbours and the quiet about it are seen. */
const MARGIN = 64;

/** The sequence for the bar line that was the `index`-th to be sent. ±1 samples; send it at −30 dBFS or so. */
export const referenceSequence = (index: number): Int8Array => maximumLengthSequence(ORDER, index % REFERENCE_TURNS);

/** Any thread, not in `process`: a few milliseconds a bar. */
export class ReferenceReader {
  readonly #reach: Frames;
  readonly #correlators: readonly Correlator[];

  /**
   * `reach`: how far the round trip may be from the expected one, either way, at least 100 frames.
   * @throws {QuantityError} for less
   */
  constructor(reach: Frames) {
    if (reach < 100) throw new QuantityError(`Got a reach of ${reach} frames when expected 100 or more.`);
    this.#reach = reach;
    const lags = 2 * (reach + MARGIN) + 1;
    this.#correlators = Array.from(
      { length: REFERENCE_TURNS },
      (_, turn) => new Correlator(referenceSequence(turn), lags),
    );
  }

  /**
   * `sent`: the rendered frame of every bar line, where `referenceSequence(index)` began; `expected`: the round trip;
   * `first`: the index of the first, 0 or more.
   */
  read(track: ReferenceTrack, sent: readonly Frames[], expected: Frames, first = 0): readonly ReferenceBar[] {
    return sent.map((at, bar) => this.#readBar(track, at, expected, first + bar));
  }

  #readBar({ samples, start }: ReferenceTrack, at: Frames, expected: Frames, index: number): ReferenceBar {
    const earliest = expected - this.#reach - MARGIN;
    const from = at + earliest - start;
    const correlator = this.#correlators[index % REFERENCE_TURNS];
    // A round trip within reach may still be cut off by the end; then its bar is lost.
    if (correlator === undefined || from >= samples.length || from + correlator.lags + LENGTH <= 0) {
      return { index, roundTrip: null, prominence: 0 };
    }
    const excerpt = new Float32Array(correlator.lags + LENGTH);
    const skipped = Math.max(0, -from);
    excerpt.set(samples.subarray(Math.max(0, from), Math.max(0, from + excerpt.length)), skipped);
    const latest = frames(correlator.lags - 1 - MARGIN);
    const found = searchCorrelation(correlator.correlate(excerpt), {
      sequence: frames(LENGTH),
      latest,
      reflections: NONE,
    });
    if (!found.ok)
      return { index, roundTrip: null, prominence: 'prominence' in found.reason ? found.reason.prominence : 0 };
    return { index, roundTrip: frames(found.value.frames + earliest), prominence: found.value.prominence };
  }
}

/** Whether the cable is out: the last `inARow` bars, one or more, were all lost. */
export function isCableLost(read: readonly ReferenceBar[], inARow: number): boolean {
  const last = read.slice(-inARow);
  return last.length === inARow && last.every(({ roundTrip }) => roundTrip === null);
}
