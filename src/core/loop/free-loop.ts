/**
 * A loop that was played without a tempo: where it begins and how long it is, to the frame, from two presses and what was
 * played round them.
 *
 * It begins at the first onset near the first press: what a player wants at the top of the loop is the note, not the foot.
 * Its length is the shift at which what was played after the second press is most like the loop's beginning: first by
 * what is new and when (the rhythm), then, where the sounds themselves are alike, to the sample. Where nothing matches,
 * the presses' own distance holds: whoever presses early once presses as early again.
 */
import type { Frames, SampleRate } from '../units/index.js';
import { frames, nearestFrame } from '../units/index.js';
import { blurred, likenesses, matchSamples, peaksOf } from './match.js';

/** A stretch of a recording that was listened to. All frames but those of `novelty` count from the recording's first. */
export interface Excerpt {
  /** Of its first sample. */
  readonly at: Frames;
  readonly samples: Float32Array;
  /** In ascending order. */
  readonly onsets: readonly Frames[];
  /** How much is new in decibels (core/listen/novelty): a value every `hop` frames, the first at frame `first` of it. */
  readonly novelty: { readonly hop: number; readonly first: number; readonly values: Float64Array };
}

export interface Presses {
  readonly from: Frames;
  readonly to: Frames;
}

export interface FreeLoop {
  /** First frame of the body. */
  readonly start: Frames;
  readonly frames: Frames;
  /** False where it rests on a press alone, at either end. */
  readonly sure: boolean;
}

/** A press and what it is meant for lie within this of each other. */
export const PRESS_REACH_SECONDS = 0.15;
/** What is compared: long enough for a beat and what follows it, short enough for the loop to join soon. */
const MATCH_SECONDS = 0.32;
/** After the second press so much has to be there, for the latest end that it may mean. */
export const LISTEN_AFTER_SECONDS = PRESS_REACH_SECONDS + MATCH_SECONDS;
/** The rise towards the first note is part of its shape. */
const RUN_UP_SECONDS = 0.02;
/** Who plays the same twice is off by about this much between two notes (own choice; practised players are tighter). */
const LOOSE_SECONDS = 0.016;
/** A note out of silence is new in every band, the same note over a ring in some: above this both count alike. */
const NEW_ENOUGH = 10;
/**
 * Likeness of the rhythm that an onset needs to be the beginning again, and that a place needs where no onset was found.
 * Own choices, by trial: the right place gave 0.3 to 1; so does many a note, so that alone it counts only near the press.
 */
const SOME_RHYTHM = 0.3;
const SAME_RHYTHM = 0.5;
/** Where the rhythm alone speaks for a place, it must lie this near to the press. */
const RHYTHM_REACH_SECONDS = 0.1;
/**
 * Likeness of the samples from which two notes are one sound. Own choice, by trial: the same sound gave 0.4 to 1 (under
 * ringing notes the less), the same string plucked anew 0.3 to 0.55, another string up to 0.3, another drum up to 0.1.
 */
const SAME_SOUND = 0.35;
/** …from which the samples place it better than an onset does: under it they may be off by a part of the note's period. */
const SAME_SAMPLES = 0.6;
/** An onset this near to a place where the rhythm is most alike is what that means. */
const ONSET_HINT_SECONDS = 0.025;
/**
 * How far before and after it the place may be, inside which the samples decide: an onset over ringing strings is found
 * late (core/listen/onsets), the rhythm alone may be either.
 */
const ONSET_ERROR_SECONDS = [0.007, 0.003] as const;
const RHYTHM_ERROR_SECONDS = [0.01, 0.01] as const;
/** How presses scatter about what they mean. With the weights, it tells places apart that sound much the same. */
const PRESS_SPREAD_SECONDS = 0.06;
const SOUND_WEIGHT = 2;
const PRESS_WEIGHT = 0.25;
const ONSET_WEIGHT = 0.2;

/**
 * @param head what was played round the first press: at least PRESS_REACH_SECONDS before it and LISTEN_AFTER_SECONDS
 * after it, as far as the recording goes.
 * @param tail the same round the second press. May be the same excerpt.
 */
export function freeLoop(head: Excerpt, tail: Excerpt, presses: Presses, rate: SampleRate): FreeLoop {
  const reach = PRESS_REACH_SECONDS * rate;
  const first = head.onsets.find((onset) => Math.abs(onset - presses.from) <= reach);
  const start = first ?? presses.from;
  const asPressed = frames(presses.to - presses.from);
  const matched = first === undefined ? null : matchedLength(head, tail, start, presses.to, rate);
  return { start, frames: matched ?? asPressed, sure: matched !== null };
}

/** A length that what was played speaks for. */
interface Candidate {
  readonly frames: number;
  readonly score: number;
  readonly holds: boolean;
}

function matchedLength(head: Excerpt, tail: Excerpt, start: Frames, press: Frames, rate: SampleRate): Frames | null {
  const reach = PRESS_REACH_SECONDS * rate;
  const likely = placesNear(tail, rhythmOf(head, tail, start, press, rate), rate)
    .filter(({ at }) => Math.abs(at - press) <= reach)
    .map((place) => candidate(head, tail, start, press, place, rate))
    .filter(({ holds }) => holds);
  const best = likely.reduce<Candidate | null>((a, b) => (a === null || b.score > a.score ? b : a), null);
  return best === null ? null : nearestFrame(best.frames);
}

/** How like the loop's beginning the rhythm is from a frame of the recording on: value k at `first + k · hop`. */
interface Rhythm {
  readonly first: number;
  readonly hop: number;
  readonly likeness: Float64Array;
}

function rhythmOf(head: Excerpt, tail: Excerpt, start: Frames, press: Frames, rate: SampleRate): Rhythm {
  const { hop } = head.novelty;
  const reach = PRESS_REACH_SECONDS * rate;
  const runUp = RUN_UP_SECONDS * rate;
  const blur = Math.round((LOOSE_SECONDS * rate) / hop);
  const pattern = curveBetween(head, start - runUp, start + MATCH_SECONDS * rate);
  const sound = curveBetween(tail, press - reach - runUp, press + reach + MATCH_SECONDS * rate);
  const likeness = likenesses(blurred(pattern.values, blur), blurred(sound.values, blur));
  return { first: start + sound.first - pattern.first, hop, likeness };
}

/** Where the loop may begin anew. */
interface Place {
  readonly at: number;
  readonly rhythm: number;
  readonly isOnset: boolean;
}

/** Every onset, and where the rhythm is most alike although no onset was found near. */
function placesNear(tail: Excerpt, rhythm: Rhythm, rate: SampleRate): readonly Place[] {
  const { first, hop, likeness } = rhythm;
  const onsets = tail.onsets.map((at) => ({
    at,
    rhythm: likeness[Math.round((at - first) / hop)] ?? 0,
    isOnset: true,
  }));
  const tops = peaksOf(likeness)
    .map((peak) => ({ at: first + peak.shift * hop, rhythm: peak.likeness, isOnset: false }))
    .filter(({ at }) => !tail.onsets.some((onset) => Math.abs(onset - at) <= ONSET_HINT_SECONDS * rate));
  return [...onsets, ...tops].filter(({ rhythm: alike }) => alike >= SOME_RHYTHM);
}

function candidate(
  head: Excerpt,
  tail: Excerpt,
  start: Frames,
  press: Frames,
  { at, rhythm, isOnset }: Place,
  rate: SampleRate,
): Candidate {
  const [before, after] = isOnset ? ONSET_ERROR_SECONDS : RHYTHM_ERROR_SECONDS;
  const pattern = between(head, start, start + MATCH_SECONDS * rate);
  const shift = at - tail.at;
  const sound = matchSamples(pattern, tail.samples, rate, shift - before * rate, shift + after * rate);
  const alike = sound.likeness >= SAME_SOUND;
  const bySamples = sound.likeness >= (isOnset ? SAME_SAMPLES : SAME_SOUND);
  const off = Math.abs(at - press) / rate;
  return {
    frames: (bySamples ? tail.at + sound.shift : at) - start,
    score:
      rhythm +
      SOUND_WEIGHT * Math.max(0, sound.likeness) +
      PRESS_WEIGHT * Math.exp(-((off / PRESS_SPREAD_SECONDS) ** 2) / 2) +
      (isOnset ? ONSET_WEIGHT : 0),
    holds: alike || (rhythm >= (isOnset ? SOME_RHYTHM : SAME_RHYTHM) && off <= RHYTHM_REACH_SECONDS),
  };
}

/** The values of an excerpt's curve between two frames of the recording, and the frame of the first. */
function curveBetween(excerpt: Excerpt, from: number, to: number): { first: number; values: Float64Array } {
  const { hop, first, values } = excerpt.novelty;
  const origin = excerpt.at + first;
  const begin = Math.max(0, Math.ceil((from - origin) / hop));
  const end = Math.min(values.length, Math.floor((to - origin) / hop) + 1);
  const within = values.subarray(begin, Math.max(begin, end));
  return { first: origin + begin * hop, values: within.map((value) => Math.min(value, NEW_ENOUGH)) };
}

function between(excerpt: Excerpt, from: number, to: number): Float32Array {
  return excerpt.samples.subarray(Math.max(0, Math.round(from) - excerpt.at), Math.max(0, Math.round(to) - excerpt.at));
}
