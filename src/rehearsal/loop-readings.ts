/** How the loop that was played without a tempo is read, and how else it could be. Pure. */
import type { Neighbours, Reading, ReadingTerms } from '../core/loop/readings.js';
import { neighbours, readingAs } from '../core/loop/readings.js';
import { applyEdit } from '../core/song/apply-edit.js';
import type { Edit } from '../core/song/edits.js';
import type { SectionId } from '../core/song/ids.js';
import { MAX_TEMPO, MIN_TEMPO } from '../core/song/limits.js';
import type { Song } from '../core/song/song.js';
import type { Bpm, Frames } from '../core/units/index.js';

/** A tempo that was tapped, with half the width of its 95 % interval. */
export interface TappedTempo {
  readonly bpm: Bpm;
  readonly spread: number;
}

/** The loop as it was played, and where it is. */
export interface PlayedLoop {
  readonly section: SectionId;
  readonly frames: Frames;
}

export interface LoopReadings extends Neighbours {
  readonly now: Reading;
}

/** What was tapped counts as long as the song still has the tempo that the taps gave it. */
export const readingTerms = ({ metre, tempo, sampleRate }: Song, tapped: TappedTempo | null): ReadingTerms => ({
  metre,
  mark: tempo.mark,
  rate: sampleRate,
  slowest: MIN_TEMPO,
  fastest: MAX_TEMPO,
  taps: tapped?.bpm === tempo.bpm ? tapped : null,
});

/** @param first whether the reading comes with the loop. */
export const readingEdit = (section: SectionId, { bpm, bars, bodyFrames }: Reading, first: boolean): Edit => ({
  type: 'read-as',
  first,
  section,
  bpm,
  bars,
  bodyFrames,
});

/** Null where no such loop is there, or something was recorded over it. */
export function loopReadings(song: Song, loop: PlayedLoop | null): LoopReadings | null {
  const length = song.sections.find(({ id }) => id === loop?.section)?.bars ?? null;
  if (loop === null || length === null) return null;
  const terms = readingTerms(song, null);
  const now = readingAs(loop.frames, length, terms);
  if (now === null) return null;
  // The reading as it is changes nothing where it may be changed, and only there.
  const same = applyEdit(song, readingEdit(loop.section, now, false));
  return same.ok && same.value === song ? { now, ...neighbours(now, terms) } : null;
}
