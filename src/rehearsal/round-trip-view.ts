/** The round trip as the page shows it: what is known, how it became known, and what is being done about it. */
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
  | { readonly type: 'checked'; readonly movedBy: Frames; readonly ms: Milliseconds }
  | { readonly type: 'refused'; readonly kind: 'whole' | 'check'; readonly why: MeasuringRefusal };

export interface RoundTripView {
  /** From the mix to the ring. */
  readonly frames: Frames;
  /** As the player knows it: outside the engine, without the limiter's look-ahead. */
  readonly ms: Milliseconds;
  readonly how: RoundTripSource;
  /** False for an estimate, for one that was measured before the sound was opened anew, and since something happened. */
  readonly sure: boolean;
  /** When it was measured, ISO 8601; null where it was not. */
  readonly measuredAt: string | null;
  /** Whether that was since the sound was opened. */
  readonly isFresh: boolean;
  readonly measuring: MeasuringView | null;
  readonly outcome: RoundTripOutcome | null;
  /** What the watch over it says is to be done. */
  readonly advice: Advice;
  readonly device: DeviceAdvice;
  /** Of the noise that is sent, dBFS; a player who was refused may ask for more. */
  readonly level: Decibels;
}
