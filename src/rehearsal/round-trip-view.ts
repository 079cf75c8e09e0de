/** The round trip as the page shows it: what is known, how it became known, and what is being done about it. */
import type { ClockLine } from '../core/round-trip/clock-line.js';
import type { DeviceAdvice } from '../core/round-trip/device-advice.js';
import type { MeasurementRefusal } from '../core/round-trip/measurement.js';
import type { RoundTripSource } from '../core/song/song.js';
import type { Decibels, Frames, Milliseconds } from '../core/units/index.js';
import type { Advice } from '../core/watch/advice.js';

/** What is asked for. */
export interface MeasuringOrder {
  readonly kind: 'whole' | 'check';
  /** Whether a cable joins the output to the input; else the earpiece is held to the microphone or pickup. */
  readonly way: 'cable' | 'air';
  /** Of the probe, dBFS. */
  readonly level: Decibels;
}

/** Why a measurement came to nothing: what was searched, or something got in its way. */
export type MeasuringRefusal =
  | MeasurementRefusal
  | {
      readonly type:
        | 'still-playing'
        | 'monitor-is-on'
        /** Something was to be heard meanwhile, or the player let it be. */
        | 'stopped'
        /** The sound went away. */
        | 'sound-gone';
    };

/** How far it has come. */
export type MeasuringView =
  /** For so many seconds more: after opening, queues fill and the round trip finds its place. */
  | { readonly state: 'settling'; readonly seconds: number }
  /** From 1. */
  | { readonly state: 'sending'; readonly shot: number; readonly of: number }
  | { readonly state: 'searching' };

/** What became of the measurement or the check that was asked for last. */
export type RoundTripOutcome =
  | {
      readonly type: 'measured';
      readonly frames: Frames;
      readonly ms: Milliseconds;
      /** How far it stood out: 4 and more. */
      readonly prominence: number;
      /** Of what came back, dBFS. */
      readonly level: Decibels;
      /** The path turns the signal upside down; nothing is wrong with that. */
      readonly inverted: boolean;
    }
  /** The check found it so many frames later than it was taken for; 0 is as it should be. */
  | {
      readonly type: 'checked';
      readonly movedBy: Frames;
      readonly ms: Milliseconds;
      /** Whether it is used from now on. One shot is a word against a figure that was stated; it does not replace it. */
      readonly isUsed: boolean;
    }
  /** It moved while it was measured, as two clocks do. `isKnown`: so is how fast. */
  | { readonly type: 'drifted'; readonly ms: Milliseconds; readonly isKnown: boolean }
  | { readonly type: 'refused'; readonly kind: 'whole' | 'check'; readonly why: MeasuringRefusal };

/** The reference cable as the player asks for it. */
export interface ReferenceOrder {
  readonly on: boolean;
  /** Of one pair of outputs: the side that the reference leaves by, and the music the other. */
  readonly side: 'left' | 'right';
}

export interface ReferenceView {
  /** The side that the reference leaves by; null: it is off. Of two pairs it always has the second, on both sides. */
  readonly side: ReferenceOrder['side'] | null;
  /** Input channel that it comes back on, or would, from 0: nothing is recorded from it. */
  readonly channel: number;
  readonly layout: 'sides' | 'pairs';
  readonly can: 'yes' | 'too-few-inputs' | 'too-few-outputs';
  /** It did not come back for three bars in a row. */
  readonly isLost: boolean;
}

/** Two devices have two clocks: how far apart they are, in parts in a million, and whether that matters. */
export type ClocksView = Pick<ClockLine, 'kind' | 'ppm'>;

export interface RoundTripView {
  /** From the mix to the ring. */
  readonly frames: Frames;
  /** As the player knows it: outside the engine, without the limiter's look-ahead. */
  readonly ms: Milliseconds;
  readonly how: RoundTripSource;
  /** False for an estimate, for one that was measured before the sound was opened anew, and since something happened. */
  readonly sure: boolean;
  /** Where it is sure, good to so many frames either way; 0 is to the frame. */
  readonly within: Frames;
  /** When it was measured, ISO 8601; null where it was not. */
  readonly measuredAt: string | null;
  /** Whether that was since the sound was opened. */
  readonly isFresh: boolean;
  readonly measuring: MeasuringView | null;
  readonly outcome: RoundTripOutcome | null;
  /** What the watch over it says is to be done. */
  readonly advice: Advice;
  readonly device: DeviceAdvice;
  /** Null for one device, and until two measurements lie a minute apart. */
  readonly clocks: ClocksView | null;
  readonly reference: ReferenceView;
  /** Of the noise that is sent, dBFS; a player who was refused may ask for more. */
  readonly level: Decibels;
}
