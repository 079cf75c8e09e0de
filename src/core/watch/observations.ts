/**
 * What the page and the audio thread can see of the way from the engine's mix to the ring of captured audio. Two axes
 * of frames occur: *mix* frames count what the engine has rendered, *capture* frames what was written to the ring. Mix
 * frame p comes back at capture frame p + round trip. Moments are milliseconds of the page's performance clock; one taken
 * from the system clock is good to its tick of a millisecond.
 */
import type { Frames, Milliseconds } from '../units/index.js';

/** How a round trip became known. `stated`: the player gave the figure. */
export type TripSource = 'cable' | 'measured' | 'estimated' | 'stated';

/** A pause between two calls of the processor that was longer than it should be. */
export interface CallPause {
  readonly type: 'call-pause';
  /** Mix frame of the block after it. */
  readonly at: Frames;
  /** Its length. */
  readonly milliseconds: Milliseconds;
  /** When the call after it came. */
  readonly endedAt: Milliseconds;
}

/** What leaves the output at a moment: 20 a second or more, gaps or not. */
export interface OutputClock {
  readonly type: 'output-clock';
  readonly at: Milliseconds;
  /** Context time in frames, a fraction. */
  readonly heard: number;
}

/** How far the calls lie behind the clock: call time in frames minus mix frame, up to a constant, over a burst or two. */
export interface CallPhase {
  readonly type: 'call-phase';
  readonly at: Milliseconds;
  /** Frames, a fraction; the mean of the first calls of the bursts since the last one. */
  readonly behind: number;
}

/** Context frame minus mix frame, the greatest of the last blocks. It may be too small for a while, never too great. */
export interface ContextLead {
  readonly type: 'context-lead';
  /** Mix frame. */
  readonly at: Frames;
  readonly frames: Frames;
}

/** A run of input samples that are zero to the bit on every channel, 128 frames or longer, once it has ended. */
export interface ZeroRun {
  readonly type: 'zero-run';
  /** Capture frame. */
  readonly from: Frames;
  readonly frames: Frames;
}

/** The processor's own input against the track's frames: where the one has fallen behind the other. */
export interface PathShift {
  readonly type: 'path-shift';
  /** Capture frames between which it happened. */
  readonly from: Frames;
  readonly to: Frames;
  /** Inserted minus dropped; null where no match was found afterwards. */
  readonly frames: Frames | null;
}

export const BREAK_KINDS = ['suspended', 'resumed', 'input-reopened', 'clock-jumped', 'hidden'] as const;
export type BreakKind = (typeof BREAK_KINDS)[number];

/** Something after which nothing is known of the round trip until it is measured again. */
export interface Break {
  readonly type: 'break';
  readonly kind: BreakKind;
  /** Capture frame that came in last, as far as the page knew. */
  readonly at: Frames;
}

/** A round trip that was measured, or checked. */
export interface Measurement {
  readonly type: 'measurement';
  /** Capture frames from the first shot to the end of the last: so long it held. */
  readonly from: Frames;
  readonly to: Frames;
  readonly roundTrip: Frames;
  readonly how: Extract<TripSource, 'cable' | 'measured'>;
}

export type Observation = CallPause | OutputClock | CallPhase | ContextLead | ZeroRun | PathShift | Break | Measurement;
