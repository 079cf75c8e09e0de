/** Peaks of the audio thread's readings, gathered until the page asks: it draws less often than they come. */
import type { Peak, Peaks } from '../core/render/meters.js';

const SILENT: Peaks = { input: [], house: { peak: 0, held: 0 }, foldback: { peak: 0, held: 0 } };

export class PeaksSince {
  #since: Peaks | null = null;
  #last = SILENT;
  #input = 0;

  add(reading: Peaks): void {
    this.#last = reading;
    this.#since = this.#since === null ? reading : higherOf(this.#since, reading);
    for (const { peak } of reading.input) this.#input = Math.max(this.#input, peak);
  }

  /** Since the last call. Held peaks are those of the newest reading. */
  take(): Peaks {
    const peaks = this.#since ?? quiet(this.#last);
    this.#since = null;
    return peaks;
  }

  /** The highest of all input channels since the last call of this. */
  takeInput(): number {
    const peak = this.#input;
    this.#input = 0;
    return peak;
  }
}

function higherOf(before: Peaks, now: Peaks): Peaks {
  const higher = (a: Peak | undefined, b: Peak): Peak => ({ peak: Math.max(a?.peak ?? 0, b.peak), held: b.held });
  return {
    input: now.input.map((peak, channel) => higher(before.input[channel], peak)),
    house: higher(before.house, now.house),
    foldback: higher(before.foldback, now.foldback),
  };
}

/** No reading since: only what is held. */
function quiet({ input, house, foldback }: Peaks): Peaks {
  const heldOnly = ({ held }: Peak): Peak => ({ peak: 0, held });
  return { input: input.map(heldOnly), house: heldOnly(house), foldback: heldOnly(foldback) };
}
