/**
 * The input level as a player would say it. Words that changed with every frame could not be read, so the loudest peak of
 * the last seconds counts, and clipping is remembered longest. Bounds: common practice, no source.
 */
export type InputLevel = 'silent' | 'low' | 'good' | 'clipping';

const CLIPPING = 10 ** (-0.3 / 20);
const GOOD = 10 ** (-30 / 20);
const AUDIBLE = 10 ** (-60 / 20);
const HOLD_MS = 2500;

export class LevelReading {
  #peaks: { readonly at: number; readonly peak: number }[] = [];

  /** Takes the peak since the last call, linear, and the time in milliseconds; gives the word that now holds. */
  read(peak: number, now: number): InputLevel {
    // A louder peak outlives all softer ones before it, so the list falls and stays short.
    this.#peaks = this.#peaks.filter((held) => now - held.at < HOLD_MS && held.peak > peak);
    this.#peaks.push({ at: now, peak });
    return levelOf(this.#peaks[0]?.peak ?? peak);
  }
}

function levelOf(peak: number): InputLevel {
  if (peak >= CLIPPING) return 'clipping';
  if (peak >= GOOD) return 'good';
  return peak >= AUDIBLE ? 'low' : 'silent';
}
