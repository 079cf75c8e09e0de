/** What keeps the parts of a song from being what they are: in a programmer's words, or null where they hold. */
import type { Seam } from '../seam/seam.js';
import type { Alignment, Idea, Layer, Take } from './song.js';

/** A fade is a table in memory: a second at the highest rate is far more than any seam needs. */
const LONGEST_FADE = 192_000;

/** Faults of a layer's takes, and of those of the layers that were blended into it. */
export function takesFault({ takes, takeInUse, blendOf }: Layer): string | null {
  if (takes.length === 0) return 'Got a layer without takes when expected at least one.';
  if (!takes.some((take) => take.id === takeInUse)) {
    return `Got ${takeInUse} as the take in use when expected one of the layer's takes.`;
  }
  if (blendOf.length === 1) return 'Got a blend of one layer when expected two or more.';
  return repeated(takes, 'take') ?? firstFault(takes, takeFault);
}

export function takeFault(take: Take): string | null {
  return (
    atLeast(take.channel, 0, 'channel') ??
    atLeast(take.bodyFrames, 1, 'frames of body') ??
    atLeast(take.lead, 0, 'frames of lead') ??
    atLeast(take.tail, 0, 'frames of tail') ??
    atLeast(take.startBar, 0, 'start bar') ??
    atLeast(take.bars, 1, 'bars of a take') ??
    alignmentFault(take.alignment) ??
    (take.seam.decided === null ? null : seamFault(take, take.seam.decided))
  );
}

/** A seam uses what its take has round its body, and its fades lie within it. */
export function seamFault({ bodyFrames, lead, tail }: Omit<Take, 'id'>, seam: Seam): string | null {
  const longest = Math.min(LONGEST_FADE, seam.leadFrames + bodyFrames + seam.tailFrames);
  const shapes = [seam.fadeInShape, seam.fadeOutShape];
  return (
    within(seam.leadFrames, 0, lead, 'frames of lead in a seam') ??
    within(seam.tailFrames, 1 - seam.leadFrames - bodyFrames, tail, 'frames of tail in a seam') ??
    within(seam.fadeInFrames, 0, longest, 'frames of fade in') ??
    within(seam.fadeOutFrames, 0, longest, 'frames of fade out') ??
    (shapes.every((shape) => shape >= 0 && shape <= 1)
      ? null
      : `Got fades of shapes ${shapes.join(' and ')} when expected 0 to 1.`)
  );
}

export function alignmentFault(alignment: readonly Alignment[]): string | null {
  const from = alignment.map(({ fromBar }) => fromBar);
  const first = from[0];
  if (first !== 0) return `Got an alignment from bar ${first ?? 'none'} when expected the first from bar 0.`;
  const ordered = from.every((bar, index) => index === 0 || bar > (from[index - 1] ?? Infinity));
  return ordered ? null : `Got alignments from bars ${from.join(', ')} when expected rising bars.`;
}

export function ideaFault(idea: Idea): string | null {
  return (
    atLeast(idea.channel, 0, 'channel of an idea') ??
    atLeast(idea.start, 0, 'first frame of an idea') ??
    atLeast(idea.frames, 1, 'frames of an idea')
  );
}

export function repeated(things: readonly { readonly id: string }[], what: string): string | null {
  const ids = new Set(things.map((thing) => thing.id));
  return ids.size === things.length ? null : `Got a ${what} twice when expected each identity once.`;
}

export function firstFault<Thing>(things: readonly Thing[], fault: (thing: Thing) => string | null): string | null {
  for (const thing of things) {
    const found = fault(thing);
    if (found !== null) return found;
  }
  return null;
}

const atLeast = (value: number, least: number, what: string): string | null =>
  Number.isSafeInteger(value) && value >= least
    ? null
    : `Got ${value} as ${what} when expected a whole number from ${least}.`;

const within = (value: number, least: number, most: number, what: string): string | null =>
  value >= least && value <= most ? null : `Got ${value} as ${what} when expected ${least} to ${most}.`;
