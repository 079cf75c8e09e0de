/** The round trip of one opening as a history: where it moved, by how much, and how surely that is known. */
import type { Frames, Milliseconds, SampleRate } from '../units/index.js';
import type { Measurement } from './observations.js';
import { BREAK_KINDS } from './observations.js';

export const DISTURBANCE_KINDS = [
  /** The output had a gap: what came after it was heard later. */
  'output-gap',
  /** The engine was called late, and nothing moved that could be read: the output's buffer has bridged it. */
  'bridged',
  /** Gaps too near to each other to be told apart. */
  'gaps-together',
  /** The two estimates of a gap disagree, or one of them is impossible. */
  'estimates-apart',
  /** The clocks were not read often enough round a gap. */
  'too-few-readings',
  /** A gap was seen and is not sized yet: it will be, within three seconds. */
  'being-read',
  /** The input has fallen so far behind that frames may have been dropped unseen. */
  'input-full',
  /** The input had a hole that was filled with silence. */
  'silence-inserted',
  /** The input was behind or ahead, by comparison of both ways in. */
  'input-shifted',
  /** The two ways in could not be compared, or silence was inserted into silence. */
  'input-unclear',
  /** The engine was not called for some blocks. */
  'calls-missed',
  /** The first seconds after the opening, in which the round trip finds its place. */
  'opening',
  /** Two measurements differ by more than what was seen between them. */
  'unseen',
  /** The oldest of very many, taken together. */
  'long-ago',
  /** By the reference at both lines of the bar: it came back later, or earlier, at the second. */
  'cable-moved',
  /** The reference did not come back at one of the bar's lines. */
  'cable-lost',
  ...BREAK_KINDS,
] as const;
export type DisturbanceKind = (typeof DISTURBANCE_KINDS)[number];

/**
 * `exact`: to the frame, by counting or by a measurement on each side. `read`: by two clocks, good to half a millisecond.
 * `unknown`: nothing is claimed after it until a measurement says what it was.
 */
export type ShiftSource = 'exact' | 'read' | 'unknown';

/** Something that moved the round trip, or may have. */
export interface Disturbance {
  readonly kind: DisturbanceKind;
  /** Capture frames between which it happened: what came in before the first and after the last is whole. */
  readonly fromFrame: Frames;
  readonly toFrame: Frames;
  /** By so much the round trip is longer after it than before; null while that is not known. */
  readonly shift: Frames | null;
  readonly how: ShiftSource;
  /** The shift is good to so many frames either way. */
  readonly within: Frames;
}

export interface TripHistory {
  readonly sampleRate: SampleRate;
  /** In order of their beginnings. */
  readonly disturbances: readonly Disturbance[];
  /** Those that hold: none was disturbed while it was made, none was made before the input had settled. In order. */
  readonly measurements: readonly Measurement[];
}

/** How the ring is filled. */
export type CaptureKind =
  /** From the processor's own input, whose queue inserts silence and drops frames. */
  | 'processor'
  /** The same, with the track's own frames to compare it with. */
  | 'processor-compared'
  /** From the track's own frames, of which none is lost. */
  | 'track';

export interface WatchSetup {
  readonly sampleRate: SampleRate;
  /** The context's base latency: how long a burst of calls is. */
  readonly baseLatency: Frames;
  /** Pauses shorter than this make no gap in the output, by trial on its length of buffer; 0 where that is not known. */
  readonly bridged: Milliseconds;
  /** What the round trip is taken for until it has been measured. */
  readonly expectedRoundTrip: Frames;
  readonly capture: CaptureKind;
  /** Capture frame at which the opening begins. */
  readonly openedAt: Frames;
}
