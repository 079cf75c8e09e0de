/**
 * A voice that sounds, or is about to: its row, its audio, and its gains as they move. Audio thread; made while a
 * command is handled.
 */
import { STRIP_FIELDS, Strip } from '../program/program.js';
import type { AudioChannel } from './audio-store.js';
import { LateGate } from './late-gate.js';
import { Ramp } from './ramp.js';
import { VoiceRow } from './voice-iterations.js';

/** Lengths of the fades that are not in the program. */
export interface FadeFrames {
  /** A gain that changes. */
  readonly rampFrames: number;
  /** An iteration that is cut. */
  readonly cutFrames: number;
}

/** The pass that a voice comes from. */
export interface FromPass {
  readonly number: number;
  /** The voice that it is another take of; null for new layers. */
  readonly replaces: number | null;
}

/** Of what was not recorded since the engine has lived. */
const STORED: FromPass = { number: 0, replaces: null };

export class VoiceSlot {
  readonly row = new VoiceRow();
  audio: AudioChannel | undefined = undefined;
  /** Fade tables that the row's indices point into. */
  curves: Float32Array;
  /** Engine frame of the song position 0 that the row counts from. */
  origin = 0;
  /** Iterations whose body begins before this position stay silent. */
  from = -Infinity;
  /** Engine frame of the line at which it came in, where that was not when playing started. */
  enters = -Infinity;
  /** The section ends at this position: nothing begins any more, what is under way is cut, tails ring on. */
  cut = Infinity;
  /** The voice by which its layer is known; undefined where it is that one itself. */
  layerVoice: number | undefined = undefined;
  /** What the strip says; the gains follow it unless the voice is hushed. */
  readonly strip = { left: 0, right: 0 };
  /** Fades it where its audio is late. */
  readonly late = new LateGate();
  readonly left: Ramp;
  readonly right: Ramp;
  /** Engine frame at which it is joined under way: it is silent before. */
  joinsAt = -Infinity;
  readonly pass: FromPass;
  /** True once it is fading out for good. */
  leaving = false;

  constructor(curves: Float32Array, { rampFrames, cutFrames }: FadeFrames, pass = STORED) {
    this.curves = curves;
    this.pass = pass;
    this.row.cutFrames = cutFrames;
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
    moveBy(this.left, left, Math.max(at, this.joinsAt));
    moveBy(this.right, right, Math.max(at, this.joinsAt));
  }

  /** From an engine frame on it rises from silence to its gains; before, it is silent. */
  joinAt(frame: number): void {
    const left = this.left.target;
    const right = this.right.target;
    this.joinsAt = -Infinity;
    this.setGains(0, 0, 'at-once', frame);
    this.setGains(left, right, 'ramped', frame);
    this.joinsAt = frame;
  }

  /** Positions count from another engine frame; what sounds stays where it is. */
  countFrom(origin: number): void {
    const by = this.origin - origin;
    this.row.start += by;
    this.row.end += by;
    this.from += by;
    this.cut += by;
    this.origin = origin;
  }

  /**
   * The section ends at a position: nothing begins there or later.
   * @returns what fades out because it had begun all the same: the lead of a body that will not come; null for nothing.
   */
  cutAt(position: number, at: number, fades: FadeFrames): VoiceSlot | null {
    const { row, origin } = this;
    const next = row.start + Math.max(0, Math.ceil((position - row.start) / row.period)) * row.period;
    const isLeading = next < Math.min(this.cut, row.end) && origin + next - row.lead < at;
    this.cut = Math.min(this.cut, position);
    if (!isLeading) return null;
    const lead = new VoiceSlot(this.curves, fades, this.pass);
    lead.row.copy(row);
    lead.audio = this.audio;
    lead.origin = origin;
    lead.from = Math.max(this.from, next);
    lead.left.set(this.left.at(at));
    lead.right.set(this.right.at(at));
    lead.leave(at);
    return lead;
  }

  leave(at: number): void {
    this.leaving = true;
    this.setGains(0, 0, 'ramped', at);
  }

  isSilentFrom(frame: number): boolean {
    const rung = frame >= this.origin + this.cut + Math.max(this.row.tail, this.row.cutFrames);
    return rung || (this.leaving && !this.left.movesAfter(frame) && !this.right.movesAfter(frame));
  }
}

/** Sees to it that a gain moves to a value at an engine frame, unless that is what it does already. */
function moveBy(gain: Ramp, value: number, at: number): void {
  if (gain.target !== value || gain.starts > at) gain.moveTo(value, at);
}

export const stripLeft = (strips: Float64Array, strip: number): number =>
  strips[strip * STRIP_FIELDS + Strip.left] ?? 0;
export const stripRight = (strips: Float64Array, strip: number): number =>
  strips[strip * STRIP_FIELDS + Strip.right] ?? 0;
