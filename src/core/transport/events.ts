/** What happens to the transport, what it has to know, and what the engine has to do about it. */
import type { Grid } from '../meter/grid.js';
import type { Bars, Frames } from '../units/index.js';
import type { Pass, Plan } from './plan.js';

export type TransportEvent =
  | { readonly type: 'press' | 'play' | 'take-back'; readonly heard: Frames }
  /** `held`: the switch was held down, and what it did when it went down was not meant. */
  | { readonly type: 'stop'; readonly heard: Frames; readonly held?: boolean }
  /** Keep the last `bars` whole bars of what was played, though nothing was being recorded. */
  | { readonly type: 'keep-that'; readonly heard: Frames; readonly bars: Bars }
  /** Play as if playing had begun at `origin`, which lies in the past: the loop that had no tempo has got one. */
  | { readonly type: 'join'; readonly origin: Frames };

export interface StepContext {
  readonly grid: Grid;
  /** First frame that can still be changed: what has been rendered, and two blocks. */
  readonly earliest: Frames;
  /** First heard frame whose input is still in the ring. */
  readonly oldest: Frames;
  /** What was heard before this frame is kept already, as far as passes go that have left the plan; null: nothing is. */
  readonly keptUpTo: Frames | null;
  readonly hasLayers: boolean;
  /** Length of a pass; null leaves the first one open. */
  readonly passBars: Bars | null;
  /** Length of the loop; null while it is open. */
  readonly loopBars: Bars | null;
  /** As in PressRules. */
  readonly graceBeats: number;
  readonly countIn: Bars;
  /** The first press records at once, without count-in, tempo or bars. */
  readonly withoutTempo: boolean;
  readonly keepLayering: boolean;
  /** Layers that one pass fills: numbers it takes. */
  readonly parts: number;
  /** Frames before line 0 in which leads may sound. */
  readonly leadFrames: Frames;
  /** What was played for less than this is a false start, and nothing of it is kept. */
  readonly falseStart: Frames;
  /** Number for the next new pass. */
  readonly nextPass: number;
  /** The last press: when it was heard, and the number that a pass got which it began. Null where it was refused. */
  readonly lastPress: { readonly heard: Frames; readonly nextPass: number } | null;
}

export type TransportEffect =
  /** Begin to keep what comes in for a pass. */
  | { readonly type: 'begin'; readonly pass: Pass }
  /** A pass has been given its closing line. Also where it already had one. */
  | { readonly type: 'close'; readonly number: number; readonly endBar: Bars }
  /** Playing ended before the pass did: what was heard of it up to a frame is kept as an idea. */
  | { readonly type: 'cut'; readonly number: number; readonly at: Frames }
  | { readonly type: 'drop'; readonly number: number }
  | { readonly type: 'begin-free'; readonly at: Frames }
  | { readonly type: 'end-free'; readonly from: Frames; readonly to: Frames }
  | { readonly type: 'cut-free'; readonly at: Frames }
  | { readonly type: 'drop-free' }
  /** A pass lies in the past: "keep that". `leftOut`: whole bars before it that could have been kept and would not fit. */
  | { readonly type: 'keep-bars'; readonly number: number; readonly leftOut: Bars }
  /** Nothing plays: keep the last phrase as an idea. */
  | { readonly type: 'keep-phrase' }
  | {
      readonly type: 'refuse';
      readonly why: 'nothing-to-take-back' | 'not-in-the-ring' | 'no-whole-bar' | 'still-recording' | 'kept-already';
    };

export interface Step {
  readonly plan: Plan;
  readonly effects: readonly TransportEffect[];
}

export const begun = (passes: readonly Pass[]): TransportEffect[] => passes.map((pass) => ({ type: 'begin', pass }));
export const dropped = (passes: readonly Pass[]): TransportEffect[] =>
  passes.map(({ number }) => ({ type: 'drop', number }));
export const refused = (plan: Plan, why: Extract<TransportEffect, { type: 'refuse' }>['why']): Step => ({
  plan,
  effects: [{ type: 'refuse', why }],
});
