/** What the captured samples say of the input's queue: silence it inserted, and frames it dropped. */
import type { SampleRate } from '../units/index.js';
import type { PathShift, ZeroRun } from './observations.js';
import { exactSighting, openSighting, type Sighting } from './sighting.js';

/** An empty queue gives exactly so many zeros, measured on one machine in Chromium. */
const INSERTED = 1024;
/** Zeros of the input's own beside them: quiet noise of 16 bits is zero now and then. */
const OWN_ZEROS = 16;
/** More at once has not been seen: it is a silent input. */
const MOST_INSERTED = 8;
/** So long after silence of its own an input is taken for one that is silent at times. */
const SILENT_SECONDS = 30;

export class InputSigns {
  readonly #silentFrames: number;
  #silentAt = -Infinity;

  constructor(rate: SampleRate) {
    this.#silentFrames = SILENT_SECONDS * rate;
  }

  /** Null where the zeros are the input's own. */
  zeros({ from, frames: length }: ZeroRun): Sighting | null {
    const times = Math.floor(length / INSERTED);
    const inserted = times >= 1 && times <= MOST_INSERTED && length - times * INSERTED <= OWN_ZEROS;
    const doubtful = from - this.#silentAt < this.#silentFrames;
    if (!inserted) {
      if (length > OWN_ZEROS) this.#silentAt = from + length;
      return null;
    }
    const to = from + length;
    const shift = times * INSERTED;
    if (doubtful) return openSighting('input-unclear', 'capture', from, to, [0, shift]);
    return exactSighting('silence-inserted', 'capture', from, to, shift);
  }

  compared({ from, to, frames: shift }: PathShift): Sighting {
    if (shift === null) return openSighting('input-unclear', 'capture', from, to);
    return exactSighting('input-shifted', 'capture', from, to, shift);
  }
}
