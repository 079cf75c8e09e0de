/** Where in what comes in something is to be heard: nobody wants to keep silence. Levels only, of the newest recordings. */
import type { EngineReport } from '../core/render/commands.js';

type Captured = Extract<EngineReport, { type: 'captured' }>;

/** A level for so many frames: 50 ms at 48 kHz. */
const STEP_FRAMES = 2400;
/** What peaks under −60 dBFS is silence (own choice). */
const SILENT = 10 ** (-60 / 20);
/** One that goes on, one that ends, and some that were kept of the past. */
const RECORDINGS = 8;

export class HeardSound {
  /** By audio: a list of peaks for each channel. */
  readonly #peaks = new Map<number, readonly number[][]>();

  captured({ audio, start, frames, channels, buffer }: Captured): void {
    const peaks = this.#peaks.get(audio) ?? this.#begin(audio, channels);
    peaks.forEach((steps, channel) => {
      for (let i = 0; i < frames; i++) {
        const step = Math.floor((start + i) / STEP_FRAMES);
        const level = Math.abs(buffer[channel * frames + i] ?? 0);
        if (level > (steps[step] ?? 0)) steps[step] = level;
      }
    });
  }

  /** The channels on which something is to be heard in [start, start + frames) of a recording. */
  among(audio: number, channels: readonly number[], start: number, frames: number): readonly number[] {
    const from = Math.floor(start / STEP_FRAMES);
    const to = Math.ceil((start + frames) / STEP_FRAMES);
    const peaks = this.#peaks.get(audio) ?? [];
    return channels.filter((channel) => peaks[channel]?.slice(from, to).some((peak) => peak > SILENT) === true);
  }

  #begin(audio: number, channels: number): readonly number[][] {
    const peaks = Array.from({ length: channels }, (): number[] => []);
    this.#peaks.set(audio, peaks);
    const oldest = this.#peaks.keys().next();
    if (this.#peaks.size > RECORDINGS && oldest.done !== true) this.#peaks.delete(oldest.value);
    return peaks;
  }
}
