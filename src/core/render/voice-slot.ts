/**
 * A voice that sounds, or is about to: its row, its audio, and its gains as they move. Audio thread; made while a
 * command is handled.
 */
import { STRIP_FIELDS, Strip } from '../program/program.js';
import type { AudioChannel } from './audio-store.js';
import { LateGate } from './late-gate.js';
import { Ramp } from './ramp.js';
import { CUT_FRAMES, VoiceRow } from './voice-iterations.js';

export class VoiceSlot {
  readonly row = new VoiceRow();
  audio: AudioChannel | undefined = undefined;
  /** Fade tables that the row's indices point into. */
  curves: Float32Array;
  /** Engine frame of the song position 0 that the row counts from. */
  origin = 0;
  /** Iterations whose body begins before this position stay silent. */
  from = -Infinity;
  /** The section ends at this position: nothing begins any more, what is under way is cut, tails ring on. */
  cut = Infinity;
  /** What the strip says; the gains follow it unless the voice is hushed. */
  readonly strip = { left: 0, right: 0 };
  /** Fades it where its audio is late. */
  readonly late = new LateGate();
  readonly left: Ramp;
  readonly right: Ramp;
  /** True once it is fading out for good. */
  leaving = false;

  constructor(curves: Float32Array, rampFrames: number) {
    this.curves = curves;
    this.left = new Ramp(0, rampFrames);
    this.right = new Ramp(0, rampFrames);
  }

  /** Gains of the voice's strip, at once or over the ramp from an engine frame on. */
  setGains(left: number, right: number, ramp: 'at-once' | 'ramped', at: number): void {
    if (ramp === 'at-once') {
      this.left.set(left);
      this.right.set(right);
      return;
    }
    if (left !== this.left.target) this.left.moveTo(left, at);
    if (right !== this.right.target) this.right.moveTo(right, at);
  }

  leave(at: number): void {
    this.leaving = true;
    this.setGains(0, 0, 'ramped', at);
  }

  isSilentFrom(frame: number): boolean {
    const rung = frame >= this.origin + this.cut + Math.max(this.row.tail, CUT_FRAMES);
    return rung || (this.leaving && !this.left.movesAfter(frame) && !this.right.movesAfter(frame));
  }
}

export const stripLeft = (strips: Float64Array, strip: number): number =>
  strips[strip * STRIP_FIELDS + Strip.left] ?? 0;
export const stripRight = (strips: Float64Array, strip: number): number =>
  strips[strip * STRIP_FIELDS + Strip.right] ?? 0;
