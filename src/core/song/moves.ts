/**
 * Where the audio of a take jumps: its alignment, as far as it says where bars lie. An entry of the alignment says that
 * from a bar on another round trip held, so the bars from there on lie in the recording by the difference later than the
 * bars before say. Entries that only say how a round trip became known move nothing; nor do those of bars behind the
 * take's last.
 */
import type { Bars, Frames } from '../units/index.js';
import { bars, frames } from '../units/index.js';
import type { Take } from './song.js';

/** From a bar of a take on, its audio lies so many frames later in the recording than its body's beginning says. */
export interface Move {
  readonly fromBar: Bars;
  readonly shift: Frames;
}

/** In order; the first is of bar 0, and 0 frames. Neighbours differ. */
export function movesOf({ alignment, bars: length }: Pick<Take, 'alignment' | 'bars'>): readonly Move[] {
  const placed = alignment[0]?.roundTrip ?? 0;
  const moves: Move[] = [{ fromBar: bars(0), shift: frames(0) }];
  for (const { fromBar, roundTrip } of alignment.slice(1)) {
    const shift = frames(roundTrip - placed);
    if (fromBar < length && shift !== moves.at(-1)?.shift) moves.push({ fromBar, shift });
  }
  return moves;
}

/** Frames by which the audio at a take's last line lies later than its body's beginning says. */
export const endShift = (take: Pick<Take, 'alignment' | 'bars'>): Frames => movesOf(take).at(-1)?.shift ?? frames(0);
