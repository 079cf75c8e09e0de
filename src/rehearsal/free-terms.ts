/** What the player said of a loop without a tempo, and how the last one that was played so can be read. */
import { holdsTheGrid } from '../core/song/queries.js';
import type { Song } from '../core/song/song.js';
import type { LoopReadings, PlayedLoop } from './loop-readings.js';
import { loopReadings } from './loop-readings.js';

export class FreeTerms {
  /** The first pass was asked for without a tempo. */
  isAsked = false;
  played: PlayedLoop | null = null;

  /** Whether the first pass records without a tempo: it was asked for, and nothing was played yet. */
  isFree(song: Song): boolean {
    return this.isAsked && !holdsTheGrid(song);
  }

  readings(song: Song): LoopReadings | null {
    return loopReadings(song, this.played);
  }
}
