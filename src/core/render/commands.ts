/**
 * What the engine is told, and what it tells. A command says when in frames or bars, never "now"; a report carries the
 * frame that it is true for.
 */
import type { Program } from '../program/program.js';
import type { RoundTripSource } from '../song/song.js';
import type { Plan } from '../transport/plan.js';
import type { Bars, Frames, Gain } from '../units/index.js';

/** A round trip as the engine uses it: from the mix, before the limiter, to the input ring. */
export interface RoundTrip {
  readonly frames: Frames;
  readonly how: RoundTripSource;
  readonly sure: boolean;
}

/** How passes are made. */
export interface PassRules {
  /** Null: open length, closed by a press. */
  readonly bars: Bars | null;
  readonly countIn: Bars;
  /** Input channel, from 0. */
  readonly channel: number;
}

export type EngineCommand =
  | { readonly type: 'use-program'; readonly program: Program }
  | { readonly type: 'set-rules'; readonly rules: PassRules }
  | { readonly type: 'set-round-trip'; readonly roundTrip: RoundTrip }
  | { readonly type: 'set-click'; readonly playing: boolean; readonly gain: Gain }
  /** The one switch, at a heard frame. */
  | { readonly type: 'press'; readonly heard: Frames }
  /** Plays what there is from the top: the loop, or the click alone. Nothing where something plays already. */
  | { readonly type: 'play'; readonly heard: Frames }
  | { readonly type: 'stop'; readonly heard: Frames }
  /** Takes back the newest pass that has not closed. */
  | { readonly type: 'take-back'; readonly heard: Frames }
  /** One chunk of CHUNK_FRAMES of audio that the engine asked for; shorter at the end of the audio. */
  | {
      readonly type: 'supply';
      readonly audio: number;
      readonly channel: number;
      readonly chunk: number;
      readonly samples: Float32Array<ArrayBuffer>;
    }
  /** Memory for the pool: a whole number of chunks. */
  | { readonly type: 'supply-slab'; readonly slab: Float32Array<ArrayBuffer> }
  /** An emptied capture buffer comes back. */
  | { readonly type: 'return-buffer'; readonly buffer: Float32Array<ArrayBuffer> };

export type RefusedBecause = 'nothing-to-take-back' | 'no-program' | 'pressed-again-too-soon' | 'not-in-the-ring';

export type EngineReport =
  | { readonly type: 'plan-changed'; readonly at: Frames; readonly plan: Plan }
  /** A recording was begun; capture frame of its first frame. */
  | { readonly type: 'recording-started'; readonly audio: number; readonly at: Frames; readonly channels: number }
  /** Frames [start, start + frames) of a recording, planar in one buffer: channel c at c × frames. */
  | {
      readonly type: 'captured';
      readonly audio: number;
      readonly start: Frames;
      readonly frames: Frames;
      readonly channels: number;
      readonly buffer: Float32Array<ArrayBuffer>;
    }
  | { readonly type: 'recording-ended'; readonly audio: number; readonly frames: Frames }
  /** A pass is whole: its body is in the recording. */
  | {
      readonly type: 'layer-closed';
      readonly at: Frames;
      readonly pass: number;
      readonly audio: number;
      readonly channel: number;
      readonly bodyStart: Frames;
      readonly bodyFrames: Frames;
      readonly startBar: Bars;
      readonly bars: Bars;
      readonly roundTrip: RoundTrip;
    }
  /** A pass ended without becoming a layer. */
  | { readonly type: 'pass-dropped'; readonly at: Frames; readonly pass: number }
  | { readonly type: 'audio-wanted'; readonly audio: number; readonly channel: number; readonly chunk: number }
  /** Everything that the program of that revision plays is in the pool. */
  | { readonly type: 'program-ready'; readonly at: Frames; readonly revision: number }
  | { readonly type: 'slab-wanted'; readonly chunks: number }
  | {
      readonly type: 'refused';
      readonly at: Frames;
      readonly command: EngineCommand['type'];
      readonly why: RefusedBecause;
    }
  /** Something that should not happen did, `count` times since the last report of its kind. */
  | {
      readonly type: 'fault';
      readonly at: Frames;
      readonly kind: 'late-chunk' | 'frames-lost' | 'pool-full';
      readonly count: number;
    };
