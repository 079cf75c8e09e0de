/** From the sound of a take to its seam: listens at both lines and decides. Any thread, not in `process`: allocates. */
import { type Body, listenAtLines } from '../listen/at-lines.js';
import type { Frames, SampleRate } from '../units/index.js';
import { seamFor } from './choose.js';
import { correlationAtLines } from './correlation.js';
import type { Seam, SeamKind } from './seam.js';

/** What the player said of a seam. */
export interface SeamWish {
  readonly chosen: SeamKind | null;
  readonly pickup: boolean;
}

/**
 * @param samples the body and what is round it; `body` counts from the first of them.
 * @param playedOn whether the player went on beyond the end of the body; null where nobody knows.
 */
export function hearSeam(
  samples: Float32Array,
  body: Body,
  beatFrames: Frames,
  rate: SampleRate,
  { chosen, pickup }: SeamWish,
  playedOn: boolean | null,
): Seam {
  const evidence = {
    ...listenAtLines(samples, body, beatFrames, rate),
    rate,
    beatFrames,
    lead: body.lead,
    tail: body.tail,
    correlation: correlationAtLines(samples, body, rate),
    playedOn,
    pickupMarked: pickup,
  };
  return seamFor(evidence, chosen);
}
