/** Takes whose lines nobody has listened to, or not since something about them was changed. */
import { NO_SEAM, type Seam } from '../core/seam/seam.js';
import type { Edit } from '../core/song/edits.js';
import type { LayerId, SectionId } from '../core/song/ids.js';
import { endShift } from '../core/song/moves.js';
import type { Song, Take } from '../core/song/song.js';

export interface UndecidedTake {
  readonly section: SectionId;
  readonly layer: LayerId;
  readonly take: Take;
  /** What was heard holds as long as this stays the same: the window, and what the player wishes. */
  readonly key: string;
  /** What holds without listening; null for a take that was played. */
  readonly given: Seam | null;
}

export function undecidedTakes(song: Song): readonly UndecidedTake[] {
  return song.sections.flatMap((section) =>
    section.layers.flatMap((layer) =>
      layer.takes
        .filter((take) => take.seam.decided === null)
        .map((take) => ({
          section: section.id,
          layer: layer.id,
          take,
          key: keyOf(take),
          // A blend was rendered as a loop that goes on by itself; takes that came later were played.
          given: layer.blendOf.length > 0 && take === layer.takes[0] ? NO_SEAM : null,
        })),
    ),
  );
}

export const decisionFor = ({ section, layer, take }: UndecidedTake, seam: Seam): Edit => ({
  type: 'set-seam',
  section,
  layer,
  take: take.id,
  seam,
});

export function keyOf(take: Take): string {
  const { id, bodyStart, seam } = take;
  return JSON.stringify([id, bodyStart, endShift(take), seam.chosen, seam.pickup]);
}
