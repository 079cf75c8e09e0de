/** How long what waited for a press lasted, read off the bar lines that were played. Pure. */
import type { Lasted } from '../song/settling.js';
import { settled } from '../song/settling.js';
import type { Section, Song } from '../song/song.js';
import { sectionGrid } from './compile.js';
import type { ProgramGrid } from './program-grid.js';
import { STANDSTILL } from './program.js';

const AT_ONCE: Lasted = { free: () => 1, hold: () => 0 };

/**
 * @param played the bar lines in use, in which the section has begun at `firstBar`.
 * @param section as it was compiled for them.
 */
export function lastedIn(played: ProgramGrid, firstBar: number, song: Song, section: Section): Lasted {
  const written = sectionGrid(song, { ...section, stretches: settled(section.stretches, AT_ONCE) });
  return {
    free: (bar) => known(played.barFrames(firstBar + bar)),
    hold: (bar, beat) => {
      const pulses = Array.from({ length: written.pulses(bar) }, (_, pulse) => pulse);
      const beats = pulses.filter((pulse) => written.isBeat(bar, pulse));
      const start = beats[beat] ?? 0;
      const end = beats[beat + 1] ?? written.pulses(bar);
      const lengthIn = (grid: ProgramGrid, of: number): number => grid.pulseOf(of, end) - grid.pulseOf(of, start);
      return known(lengthIn(played, firstBar + bar) - lengthIn(written, bar));
    },
  };
}

/** Null for what stands still yet. */
const known = (length: number): number | null => (length < STANDSTILL / 2 ? Math.max(0, length) : null);
