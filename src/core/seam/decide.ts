/**
 * Decides how a body's end meets its beginning, from what was played round its two lines. Pure; the answer can be shown
 * and changed. How the next iteration begins and how the last one ends are two questions, asked one after the other.
 */
import type { SampleRate } from '../units/index.js';
import { frames, sampleRate } from '../units/index.js';
import { clampedCorrelation, crossfadeFrames } from './crossfade.js';
import { PICKUP_BEATS } from './lead.js';
import { ringingOf } from './ring.js';
import type { Seam, SeamEvidence, SeamKind } from './seam.js';

/**
 * Players land 5 to 40 ms early: an onset this near before a line is meant for it. The next thing it could be, a
 * thirty-second note, is 62 ms long at 120 beats a minute.
 */
export const EARLY_SECONDS = 0.06;
/** Fade into a lead that is played in full, and out of what makes room for it. */
const SHORT_FADE_SECONDS = 0.002;
/** A fade is over so long before the onset it keeps clear of: over a ringing note an onset may be placed 3 ms late. */
const ONSET_ERROR_SECONDS = 0.003;
/** Own choice: 20 dB under what sounds at the lines, a lead without onsets is a chair or a breath, not a held note. */
const HELD = 0.1;
/** The shape of a fade that has no partner. */
const STRAIGHT = 1;

interface Opening {
  readonly kind: SeamKind;
  /** Frames before the line from which the next iteration is wanted, whether they exist or not. */
  readonly from: number;
  readonly fade: number;
  /** Whether the last iteration makes room: its fade out is where the fade in is. */
  readonly replaces: boolean;
}

/**
 * In this order: a marked pickup sounds over the end, unless the end holds the next pickup already, then in its place.
 * An early attack at either line takes the place of the end from just before it, at every round, so no attack is heard
 * twice. A lead in which nothing was played or held is left out but for 2 ms, which keep the start from clicking. All
 * else is a crossfade before the line. Where the player stopped, the end rings on under any of these.
 *
 * @throws {QuantityError} for a correlation or a rate that is not a number
 */
export function decideSeam(evidence: SeamEvidence): Seam {
  const doubled = doubledAttack(evidence);
  const ring = doubled === null ? ringingOf(evidence) : null;
  const opening = decideOpening(evidence, doubled);
  const closing = ring === null ? decideClosing(evidence, opening, doubled) : { tail: ring.frames, fade: ring.fade };
  const matched = clampedCorrelation(evidence.correlation);
  const shape = ring === null && opening.replaces ? matched : STRAIGHT;

  const leadFrames = frames(Math.min(opening.from, evidence.lead));
  const fadeInFrames = frames(Math.min(opening.fade, leadFrames));
  const tailFrames = frames(closing.tail);
  const fadeOutFrames = frames(Math.round(closing.fade));
  return {
    kind: ring !== null && opening.kind === 'crossfade' ? 'let-ring' : opening.kind,
    leadFrames,
    fadeInFrames,
    fadeInShape: shape,
    tailFrames,
    fadeOutFrames,
    fadeOutShape: shape,
    mayOverlap: leadFrames + tailFrames > Math.max(fadeInFrames, fadeOutFrames),
  };
}

/** The onset before the end line that is the next round's first attack, which the body's beginning plays as well. */
function doubledAttack({ rate, startOnsets, endOnsets, playedOn }: SeamEvidence): number | null {
  const near = EARLY_SECONDS * rate;
  const early = firstWithin(endOnsets, -near, 0);
  const attackAtStart = firstWithin(startOnsets, -near, near) !== null;
  return playedOn === true || attackAtStart ? early : null;
}

function decideOpening(evidence: SeamEvidence, doubled: number | null): Opening {
  const { startOnsets, endOnsets, pickupMarked, beatFrames } = evidence;
  const rate = sampleRate(evidence.rate);
  const near = EARLY_SECONDS * rate;
  const short = shortFade(rate);
  const played = firstWithin(startOnsets, -PICKUP_BEATS * beatFrames, 0);
  if (pickupMarked && played !== null) {
    const replaces = firstWithin(endOnsets, played - near, Math.min(0, played + near)) !== null;
    return { kind: 'pickup', from: clearOf(played, rate) + short, fade: short, replaces };
  }
  const early = firstWithin(startOnsets, -near, 0);
  if (early !== null || doubled !== null) {
    const from = clearOf(Math.min(early ?? 0, doubled ?? 0), rate) + short;
    return { kind: 'early-attack', from, fade: short, replaces: true };
  }
  const held = evidence.leadLevel > HELD * Math.max(evidence.startLevel, evidence.endLevel);
  if (played === null && !held) return { kind: 'crossfade', from: short, fade: short, replaces: false };
  const fade = crossfadeFrames(rate, evidence.correlation);
  return { kind: 'crossfade', from: fade, fade, replaces: true };
}

function decideClosing(
  evidence: SeamEvidence,
  opening: Opening,
  doubled: number | null,
): { tail: number; fade: number } {
  const rate = sampleRate(evidence.rate);
  if (opening.replaces) return { tail: opening.fade - opening.from, fade: opening.fade };
  if (doubled !== null) return { tail: -clearOf(doubled, rate), fade: shortFade(rate) };
  return { tail: 0, fade: crossfadeFrames(rate, evidence.correlation) };
}

const shortFade = (rate: SampleRate): number => Math.round(SHORT_FADE_SECONDS * rate);

/** Frames before the line that are surely before an onset. */
const clearOf = (onset: number, rate: SampleRate): number => Math.round(ONSET_ERROR_SECONDS * rate - onset);

/** The first onset in [from, to). */
function firstWithin(onsets: readonly number[], from: number, to: number): number | null {
  return onsets.find((onset) => onset >= from && onset < to) ?? null;
}
