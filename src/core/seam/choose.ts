/**
 * The seam that applies: what is heard at the lines, or what the player asks for instead. A wish is carried out by
 * hearing what goes with it; where there is nothing to carry it out with (no tail to let ring), the kind that comes out
 * says what it became.
 */
import { frames } from '../units/index.js';
import { EARLY_SECONDS, decideSeam } from './decide.js';
import { PICKUP_BEATS } from './lead.js';
import type { Seam, SeamEvidence, SeamKind } from './seam.js';

/** @param chosen null leaves it to what is heard. @throws {QuantityError} as decideSeam does. */
export function seamFor(evidence: SeamEvidence, chosen: SeamKind | null): Seam {
  switch (chosen) {
    case null:
      return decideSeam(evidence);
    case 'crossfade':
      return decideSeam({ ...withoutAttacks(evidence), playedOn: true, pickupMarked: false });
    case 'let-ring':
      return decideSeam({ ...evidence, playedOn: false, endOnsets: evidence.endOnsets.filter(isAfter) });
    case 'early-attack':
      return decideSeam({ ...withEarlyAttack(evidence), playedOn: true, pickupMarked: false });
    case 'pickup':
      return decideSeam({ ...withPickup(evidence), pickupMarked: true });
    default:
      return chosen satisfies never;
  }
}

const isAfter = (onset: number): boolean => onset >= 0;

/** Nothing was struck round either line. */
function withoutAttacks(evidence: SeamEvidence): SeamEvidence {
  const near = EARLY_SECONDS * evidence.rate;
  const away = (onset: number): boolean => onset < -near || onset >= near;
  return { ...evidence, startOnsets: evidence.startOnsets.filter(away), endOnsets: evidence.endOnsets.filter(away) };
}

/** An attack that is not heard is taken to lie as early as an early attack can. */
function withEarlyAttack(evidence: SeamEvidence): SeamEvidence {
  const near = Math.floor(EARLY_SECONDS * evidence.rate);
  const heard = [...evidence.startOnsets, ...evidence.endOnsets].some((onset) => onset >= -near && onset < 0);
  return heard ? evidence : { ...evidence, startOnsets: inOrder([...evidence.startOnsets, -near]) };
}

/** A pickup that is not heard is taken to begin as early as a pickup can. */
function withPickup(evidence: SeamEvidence): SeamEvidence {
  const before = PICKUP_BEATS * evidence.beatFrames;
  const heard = evidence.startOnsets.some((onset) => onset >= -before && onset < 0);
  return heard ? evidence : { ...evidence, startOnsets: inOrder([...evidence.startOnsets, -before]) };
}

const inOrder = (onsets: readonly number[]): readonly number[] =>
  onsets.map((onset) => frames(Math.round(onset))).sort((a, b) => a - b);
