/** The audio of a take as it sounds: read run by run where something moved it under the pass. */
import { sectionGrid } from '../core/program/compile.js';
import type { TakeRun } from '../core/program/take-runs.js';
import { runsOfTake } from '../core/program/take-runs.js';
import type { Result } from '../core/result/result.js';
import { success } from '../core/result/result.js';
import { movesOf } from '../core/song/moves.js';
import { withBlended } from '../core/song/queries.js';
import type { Song, Take } from '../core/song/song.js';
import { frames } from '../core/units/index.js';
import type { Library, StorageRefusal } from '../ports/library.js';

export interface TakeAudio {
  readonly samples: Float32Array<ArrayBuffer>;
  /** Frames that should be in storage and are not; zeros in `samples`. */
  readonly missing: number;
}

/** Where the bars of a take lie in its recording, over the bars of its section. */
export function runsInSong(song: Song, take: Take): readonly TakeRun[] {
  const { bodyStart, bodyFrames } = take;
  const whole: TakeRun = { fromBar: 0, into: frames(0), bodyStart, bodyFrames };
  if (movesOf(take).length === 1) return [whole];
  const holds = ({ takes }: { readonly takes: readonly Take[] }): boolean => takes.some(({ id }) => id === take.id);
  const section = song.sections.find(({ layers }) => layers.flatMap(withBlended).some(holds));
  return section === undefined ? [whole] : runsOfTake(take, sectionGrid(song, section));
}

/**
 * The body of a take and `lead` frames before it. What lies before the beginning of the recording, or behind all that
 * came in with the take, is silence, and not missing.
 */
export async function readTake(
  library: Library,
  take: Take,
  runs: readonly TakeRun[],
  lead: number,
): Promise<Result<TakeAudio, StorageRefusal>> {
  const samples = new Float32Array(lead + take.bodyFrames);
  const recorded = take.bodyStart + take.bodyFrames + take.tail;
  let missing = 0;
  for (const { into, bodyStart, bodyFrames } of runs) {
    const before = into === 0 ? lead : 0;
    const start = Math.max(0, bodyStart - before);
    const end = Math.min(bodyStart + bodyFrames, recorded);
    if (end <= start) continue;
    const read = await library.readRecording(take.recording, take.channel, frames(start), frames(end - start));
    if (!read.ok) return read;
    samples.set(read.value.samples, lead + into + start - bodyStart);
    missing += read.value.missing;
  }
  return success({ samples, missing });
}
