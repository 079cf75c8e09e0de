/** A disturbance as it was sighted, before it has its place among the captured frames. */
import type { DisturbanceKind, ShiftSource } from './history.js';

export interface Sighting {
  readonly kind: DisturbanceKind;
  /**
   * What `from` and `to` count. What was sighted in the mix comes in a round trip later: its beginning by the one before,
   * its end by the one after it.
   */
  readonly axis: 'mix' | 'capture';
  readonly from: number;
  readonly to: number;
  /** Frames; null where it is not known. */
  readonly shift: number | null;
  readonly how: ShiftSource;
  /** Frames. */
  readonly within: number;
  /** The least and the most that the shift may be. */
  readonly range: readonly [number, number];
}

/** Further than this nothing moves without being opened anew, frames: half a second at 48 kHz. Own choice. */
const FARTHEST = 24_000;

/** Something of which it is only known where it was. */
export function openSighting(
  kind: DisturbanceKind,
  axis: Sighting['axis'],
  from: number,
  to: number,
  range: readonly [number, number] = [-FARTHEST, FARTHEST],
): Sighting {
  return { kind, axis, from, to, shift: null, how: 'unknown', within: 0, range };
}

/** Something that is known to the frame. */
export function exactSighting(
  kind: DisturbanceKind,
  axis: Sighting['axis'],
  from: number,
  to: number,
  shift: number,
): Sighting {
  return { kind, axis, from, to, shift, how: 'exact', within: 0, range: [shift, shift] };
}
