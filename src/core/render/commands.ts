/**
 * What the engine is told, and what it tells. A command says when in frames or bars, never "now"; a report carries the
 * frame that it is true for.
 */
import type { PressRules } from '../meter/presses.js';
import type { Program } from '../program/program.js';
import type { Seam } from '../seam/seam.js';
import type { RoundTripSource } from '../song/song.js';
import type { Plan } from '../transport/plan.js';
import type { Bars, Frames, Gain } from '../units/index.js';
import type { Bus } from './buses.js';
import type { Routing } from './routing.js';

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
  /** Length of what goes round; null while it is open. */
  readonly loopBars: Bars | null;
  readonly presses: PressRules;
  readonly countIn: Bars;
  /** Input channels, from 0: a layer for each. */
  readonly channels: readonly number[];
  /** The first press records at once, without count-in, tempo or bars. */
  readonly withoutTempo: boolean;
  /** Every pass is followed by another, until the player says no. */
  readonly keepLayering: boolean;
  /** The voice that a pass is another take of: silent while it is recorded. Null where passes become new layers. */
  readonly replaces: number | null;
}

export type EngineCommand =
  | { readonly type: 'use-program'; readonly program: Program }
  | { readonly type: 'set-rules'; readonly rules: PassRules }
  | { readonly type: 'set-round-trip'; readonly roundTrip: RoundTrip }
  | { readonly type: 'set-click'; readonly playing: boolean; readonly gain: Gain }
  /**
   * How the body of a pass that is coming in opens, for one of its voices (see core/seam/opening): its first repeat
   * sounds so, if that can still be rendered, and those after it until a program says more.
   */
  | { readonly type: 'set-opening'; readonly voice: number; readonly opening: Seam }
  /** Gain of everything in the house or in the foldback, 0 to 4. */
  | { readonly type: 'set-level'; readonly bus: Bus; readonly gain: Gain }
  /** The input in the player's ears; its channels are those of the rules. On only where the player has headphones on. */
  | { readonly type: 'set-monitor'; readonly on: boolean; readonly gain: Gain }
  | { readonly type: 'set-routing'; readonly routing: Routing }
  /**
   * Sends a noise to the foldback and listens: while nothing plays. `heard` comes back in `probe-heard`, filled; it has
   * room for as many frames of every input channel as are to be listened for.
   */
  | {
      readonly type: 'send-probe';
      readonly samples: Float32Array<ArrayBuffer>;
      readonly heard: Float32Array<ArrayBuffer>;
    }
  /** The probe that is under way is heard no more, and not listened for. */
  | { readonly type: 'drop-probe' }
  /**
   * Sequences for the bar lines, where the routing has an output for them: `turns` of one length, one after the other.
   * Null: none.
   */
  | { readonly type: 'set-reference'; readonly samples: Float32Array<ArrayBuffer> | null; readonly turns: number }
  /** The one switch, at a heard frame. */
  | { readonly type: 'press'; readonly heard: Frames }
  /** Plays what there is from the top: the loop, or the click alone. Nothing where something plays already. */
  | { readonly type: 'play'; readonly heard: Frames }
  /**
   * What is being recorded is kept: to the nearest line where that is its end, else up to here. `held`: the switch was
   * held down, and what it did when it went down was not meant.
   */
  | { readonly type: 'stop'; readonly heard: Frames; readonly held?: boolean }
  /** Takes back the pass under way and those after it, or else the newest that has not come in whole. */
  | { readonly type: 'take-back'; readonly heard: Frames }
  /** Keeps what was played though nothing was being recorded: the last whole bars, or the last phrase. */
  | { readonly type: 'keep-that'; readonly heard: Frames; readonly bars: Bars }
  /** A loop that was recorded without a tempo has got one: play as if line 0 had been at `origin`. */
  | { readonly type: 'join'; readonly origin: Frames }
  /** Time stands still until a press: this is it, heard from the held beat on. The one switch does the same. */
  | { readonly type: 'end-standstill'; readonly heard: Frames }
  /** A program to be changed to later; places 0 to 7. */
  | { readonly type: 'stand-by'; readonly slot: number; readonly program: Program }
  /** Changes to it at the bar line that was meant, or at the first that can still be rendered. */
  | { readonly type: 'go'; readonly slot: number; readonly heard: Frames }
  /** One chunk of CHUNK_FRAMES of audio that the engine asked for; shorter at the end of the audio. */
  | {
      readonly type: 'supply';
      readonly audio: number;
      readonly channel: number;
      readonly chunk: number;
      readonly samples: Float32Array<ArrayBuffer>;
    }
  /** Frames [0, frames) of a recording that was made here are in storage, every channel: they can be asked for again. */
  | { readonly type: 'audio-stored'; readonly audio: number; readonly frames: Frames }
  /** Memory for the pool that was asked for: one slab. */
  | { readonly type: 'supply-slab'; readonly slab: Float32Array<ArrayBuffer> }
  /** An emptied capture buffer comes back. */
  | { readonly type: 'return-buffer'; readonly buffer: Float32Array<ArrayBuffer> };

export type RefusedBecause =
  | 'nothing-to-take-back'
  | 'no-program'
  | 'pressed-again-too-soon'
  /** What was played lies further back than the ring holds. */
  | 'not-in-the-ring'
  /** Not a whole bar has been played yet. */
  | 'no-whole-bar'
  /** A pass, or "keep that", has kept it. */
  | 'kept-already'
  /** No program stands by there, or there is no such place. */
  | 'no-such-place'
  | 'not-playing'
  /** Time does not stand still there. */
  | 'not-standing-still'
  /** The device has fewer channels than the routing needs. */
  | 'too-few-outputs'
  /** A probe is sent into silence, and not beside another. */
  | 'still-playing'
  | 'still-measuring'
  /** The input is in the player's ears: what is sent would come back for ever. */
  | 'monitor-is-on'
  | 'still-recording';

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
      /** A layer for each; its voice is the pass's number and the place in this list. */
      readonly channels: readonly number[];
      /** The voice it is another take of; null for new layers. */
      readonly replaces: number | null;
      readonly bodyStart: Frames;
      readonly bodyFrames: Frames;
      readonly startBar: Bars;
      readonly bars: Bars;
      readonly roundTrip: RoundTrip;
    }
  /** A loop without a tempo was closed: its presses, in frames of the recording; where line 0 was heard. */
  | {
      readonly type: 'free-closed';
      readonly at: Frames;
      readonly audio: number;
      readonly channels: readonly number[];
      readonly from: Frames;
      readonly to: Frames;
      readonly heardFrom: Frames;
      readonly roundTrip: RoundTrip;
    }
  /** What the ring held is being kept as a recording of its own: the phrase is somewhere at its end. */
  | { readonly type: 'past-kept'; readonly at: Frames; readonly audio: number; readonly channels: readonly number[] }
  /**
   * Until playing stops these bar lines hold, not those of the program: it came while others were under way, or time went
   * on after a standstill. As in Program, counted from the plan's origin.
   */
  | { readonly type: 'bars-changed'; readonly at: Frames; readonly stretches: Float64Array<ArrayBuffer> }
  /** Time goes on at the engine frame `at`. `position` is where that ends the standstill in the program's stretches. */
  | { readonly type: 'standstill-ended'; readonly at: Frames; readonly bar: Bars; readonly position: Frames }
  /** Another program plays from a line on; late where that is not the line that was meant. */
  | { readonly type: 'section-changes'; readonly at: Frames; readonly slot: number; readonly late: boolean }
  /** The program runs out in ten seconds: the same one with more in it is wanted. */
  | { readonly type: 'page-wanted'; readonly at: Frames; readonly revision: number }
  /** A pass is lined up, or under way: where it is recorded. Number 0: it has no tempo, and begins at `at`. */
  | {
      readonly type: 'pass-begun';
      readonly at: Frames;
      readonly pass: number;
      readonly audio: number;
      readonly channels: readonly number[];
      readonly replaces: number | null;
      readonly roundTrip: RoundTrip;
    }
  /** "Keep that" made a pass of what nobody was recording. `leftOut`: bars before it that were there and would not fit. */
  | { readonly type: 'bars-kept'; readonly at: Frames; readonly pass: number; readonly leftOut: Bars }
  /**
   * A pass ended without becoming a layer: it was taken back, or hardly begun. `heard`: where the player was.
   * Number 0: it had no tempo.
   */
  | { readonly type: 'pass-dropped'; readonly at: Frames; readonly pass: number; readonly heard: Frames }
  /** Playing stopped before the pass had come to its line. What was played of it is in the recording: an idea. */
  | {
      readonly type: 'pass-cut';
      readonly at: Frames;
      readonly pass: number;
      readonly audio: number;
      readonly channels: readonly number[];
      readonly bodyStart: Frames;
      readonly bodyFrames: Frames;
    }
  /** A chunk will sound, within seconds. It is to be supplied whatever becomes of it: with silence if it can't be read. */
  | { readonly type: 'audio-wanted'; readonly audio: number; readonly channel: number; readonly chunk: number }
  /**
   * What the program of that revision plays in its first five seconds (two where it stands by) is in the pool; in the
   * next five seconds where it plays already. In a pool that is too small for that: as much as it holds.
   */
  | { readonly type: 'program-ready'; readonly at: Frames; readonly revision: number }
  | { readonly type: 'slab-wanted'; readonly chunks: number }
  | {
      readonly type: 'refused';
      readonly at: Frames;
      readonly command: EngineCommand['type'];
      readonly why: RefusedBecause;
    }
  /** What came in from engine frame `at` on, where the first sample of the probe was: planar, channel c at c × frames. */
  | {
      readonly type: 'probe-heard';
      readonly at: Frames;
      readonly frames: Frames;
      readonly channels: number;
      readonly buffer: Float32Array<ArrayBuffer>;
    }
  /** Something was played meanwhile. */
  | { readonly type: 'probe-dropped'; readonly at: Frames }
  /** The monitor was muted, and stays so until it is turned on again. */
  | { readonly type: 'monitor-muted'; readonly at: Frames; readonly why: 'howl' }
  /** Something that should not happen did, `count` times since the last report of its kind. */
  | {
      readonly type: 'fault';
      readonly at: Frames;
      /** Not a number: samples that came in or were mixed and were no finite numbers; each became silence. */
      readonly kind: 'late-chunk' | 'frames-lost' | 'pool-full' | 'not-a-number';
      readonly count: number;
    };
