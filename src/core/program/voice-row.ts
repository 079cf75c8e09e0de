/** A take as voices: what its seam and its alignment say, as rows of the program. */
import { crossfadeFrames } from '../seam/crossfade.js';
import type { Seam } from '../seam/seam.js';
import type { Take } from '../song/song.js';
import type { SampleRate } from '../units/index.js';
import { frames } from '../units/index.js';
import { bodyPlace } from './body-place.js';
import type { CurveShelf } from './curve-shelf.js';
import { VOICE_FIELDS, Voice } from './program.js';
import type { ProgramGrid } from './program-grid.js';
import type { TakeRun } from './take-runs.js';
import { runsOfTake } from './take-runs.js';

/** Iterations of a voice that may sound at a time. */
export const MOST_ITERATIONS = 8;
/** Own choice: the longest fade of a tail that is cut. */
const CUT_FADE_SECONDS = 1.5;

/** What a seam has to do with: the body, how often it comes, and frames that exist round it. */
interface SeamRoom extends Pick<Take, 'bodyFrames' | 'lead' | 'tail'> {
  /** Frames from one beginning to the next: at least the body. */
  readonly period: number;
}

/** One of the runs of a take, from a bar of the take on. */
export interface RunVoice {
  readonly fromBar: number;
  /** All of a voice's row but its id, its audio and its strip. */
  readonly row: Float64Array<ArrayBuffer>;
}

/**
 * The voices of a take: one, or one for each of its runs where something moved the audio under the pass.
 *
 * Phase counts from line 0: a take that was begun at bar 2 of its four is under way when playing starts, so its
 * iteration 0 begins two bars before the top.
 *
 * The take's seam is that of its outer ends. Where a run ends and another one goes on there is a short crossfade for
 * unrelated sounds: before the line, so that an attack on it stays whole.
 * @param grid the section's bars, round and round.
 */
export function voicesOfTake(take: Take, grid: ProgramGrid, curves: CurveShelf, rate: SampleRate): readonly RunVoice[] {
  const { start, period } = bodyPlace(grid, take);
  const runs = runsOfTake(take, grid).filter(({ into }) => into < period);
  return runs.map((run, index) => {
    const row = new Float64Array(VOICE_FIELDS);
    row[Voice.channel] = take.channel;
    row[Voice.bodyStart] = run.bodyStart;
    row[Voice.start] = start + run.into;
    row[Voice.end] = Infinity;
    const bodyFrames = frames(Math.min(run.bodyFrames, period - run.into));
    writeBody(row, bodyFrames, period);
    const { lead, tail, seam } = endsOfRun(take, run, index === 0, index === runs.length - 1, rate);
    writeSeam(row, { bodyFrames, period, lead, tail }, seam, curves, rate);
    return { fromBar: index === 0 ? 0 : run.fromBar, row };
  });
}

export function writeBody(row: Float64Array, bodyFrames: number, period: number): void {
  row[Voice.bodyFrames] = bodyFrames;
  row[Voice.period] = period;
}

/** Writes lead, tail and fades; null where the lines have not been listened to. The engine's own voices have these too. */
export function writeSeam(
  row: Float64Array,
  take: SeamRoom,
  seam: Seam | null,
  curves: CurveShelf,
  rate: SampleRate,
): void {
  if (seam === null) writeUndecided(row, take, curves, rate);
  else writeDecided(row, take, seam, curves, rate);
}

/** What a run has at its ends: the take's seam where they are the take's, a joint where another run goes on. */
function endsOfRun(
  take: Take,
  run: TakeRun,
  opens: boolean,
  closes: boolean,
  rate: SampleRate,
): Pick<Take, 'lead' | 'tail'> & { readonly seam: Seam | null } {
  const joint = crossfadeFrames(rate, 0);
  const { decided } = take.seam;
  const seam = decided && {
    ...decided,
    ...(opens ? {} : { leadFrames: joint, fadeInFrames: joint, fadeInShape: 0 }),
    ...(closes ? {} : { tailFrames: frames(0), fadeOutFrames: joint, fadeOutShape: 0 }),
  };
  const shift = run.bodyStart - run.into - take.bodyStart;
  return {
    lead: opens ? take.lead : joint,
    tail: closes ? frames(Math.max(0, take.tail - shift)) : frames(0),
    seam,
  };
}

/** Until the lines have been listened to: a crossfade for unrelated sounds. */
function writeUndecided(row: Float64Array, take: SeamRoom, curves: CurveShelf, rate: SampleRate): void {
  const fade = crossfadeFrames(rate, 0);
  const lead = Math.min(fade, take.lead);
  row[Voice.lead] = lead;
  row[Voice.tail] = 0;
  row[Voice.fadeInAt] = curves.rising(fade, 0) + fade - lead;
  row[Voice.fadeIn] = lead;
  row[Voice.fadeOutAt] = curves.falling(fade, 0);
  row[Voice.fadeOut] = fade;
}

/**
 * Lead and tail are kept so short that no more than MOST_ITERATIONS sound together: each iteration sounds for
 * lead + body + tail, one begins every period, so lead + body + tail ≤ MOST_ITERATIONS periods. Where a tail is longer, the
 * oldest iteration fades out before the newest comes in: over a body, since how loud it still is there is not known.
 */
function writeDecided(row: Float64Array, take: SeamRoom, seam: Seam, curves: CurveShelf, rate: SampleRate): void {
  const most = MOST_ITERATIONS * take.period - take.bodyFrames;
  const lead = Math.min(seam.leadFrames, take.lead, most - Math.min(0, seam.tailFrames));
  const tail = Math.max(1 - lead - take.bodyFrames, Math.min(seam.tailFrames, take.tail, most - lead));
  const length = lead + take.bodyFrames + tail;
  const fadeIn = frames(Math.min(seam.fadeInFrames, length));
  const cut = tail < seam.tailFrames ? Math.min(take.bodyFrames, tail, Math.round(CUT_FADE_SECONDS * rate)) : 0;
  const fadeOut = frames(Math.min(Math.max(seam.fadeOutFrames, cut), length));
  row[Voice.lead] = lead;
  row[Voice.tail] = tail;
  row[Voice.fadeInAt] = curves.rising(fadeIn, seam.fadeInShape);
  row[Voice.fadeIn] = fadeIn;
  row[Voice.fadeOutAt] = curves.falling(fadeOut, seam.fadeOutShape);
  row[Voice.fadeOut] = fadeOut;
}
