/**
 * How a program takes over the voices: what it names goes on sample for sample where it can, what is new comes in, what it
 * does not name leaves or ends at a line. Audio thread; runs while commands are handled.
 */
import type { Program } from '../program/program.js';
import { layerVoice, voiceCount } from '../program/program.js';
import type { AudioStore } from './audio-store.js';
import { continues } from './continuing.js';
import type { Hushes } from './hushes.js';
import { CHUNK_FRAMES } from './pool.js';
import { liesAs } from './same-bodies.js';
import { enterAt, startAt } from './voice-entrances.js';
import { VoiceRow } from './voice-iterations.js';
import type { VoiceLists } from './voice-lists.js';
import type { FadeFrames } from './voice-slot.js';
import { VoiceSlot, stripLeft, stripRight } from './voice-slot.js';

/** Where playing stands when voices are changed. */
export interface Standing {
  /** First engine frame that the change may touch. */
  readonly at: number;
  /** Engine frame of song position 0; null while nothing plays. */
  readonly origin: number | null;
}

export class ProgramVoices {
  readonly #lists: VoiceLists;
  readonly #hushes: Hushes;
  readonly #store: AudioStore;
  readonly #fades: FadeFrames;

  constructor(lists: VoiceLists, hushes: Hushes, store: AudioStore, fades: FadeFrames) {
    this.#lists = lists;
    this.#hushes = hushes;
    this.#store = store;
    this.#fades = fades;
  }

  /** Voices that the program names go on, new ones join in phase, others leave. */
  use(program: Program, standing: Standing): void {
    const lists = this.#lists;
    this.#hushes.dropKnown(program.passesKnown);
    for (const slot of lists.own) slot.countFrom(standing.origin ?? slot.origin);
    const before = lists.stayingById();
    lists.program = Array.from({ length: voiceCount(program) }, (_, index) => {
      const row = new VoiceRow();
      row.read(program.voices, index);
      const now = before.get(row.id);
      const goesOn =
        now !== undefined && continues(now, { row, curves: program.curves }, standing.at - now.origin, now.from);
      const slot = goesOn ? now : this.#entering(now, program.curves, standing);
      if (goesOn) before.delete(row.id);
      this.#read(slot, program, index);
      slot.late.lookAgain();
      const isSilent = now === undefined && standing.origin === null;
      this.#setStrip(slot, program.strips, isSilent ? 'at-once' : 'ramped', standing.at);
      const { at, origin } = standing;
      if (!goesOn && origin !== null && at < origin) startAt(slot, origin, at);
      return slot;
    });
    lists.own = lists.own.filter((slot) => slot.pass.number > program.passesKnown && before.delete(slot.row.id));
    lists.forgetSilent(standing.at);
    for (const slot of before.values()) lists.letGo(slot, standing.at);
  }

  /** Another program begins at a line: its voices start anew there, those of the old one end there. As Mixer.change. */
  change(program: Program, line: number, at: number): void {
    const lists = this.#lists;
    for (const slot of lists.staying) this.#end(slot, slot.origin === line, line, at);
    lists.forgetSilent(at);
    lists.own = [];
    lists.program = Array.from({ length: voiceCount(program) }, (_, index) => {
      const slot = new VoiceSlot(program.curves, this.#fades);
      this.#read(slot, program, index);
      slot.origin = line;
      this.#setStrip(slot, program.strips, 'at-once', line);
      startAt(slot, line, at);
      return slot;
    });
  }

  /** Other bar lines hold from a line on: what lies as before goes on, the rest ends and begins there. As Mixer.changeBars. */
  changeBars(program: Program, line: number, origin: number, at: number): void {
    const lists = this.#lists;
    const before = lists.stayingById();
    lists.program = Array.from({ length: voiceCount(program) }, (_, index) => {
      const fresh = new VoiceSlot(program.curves, this.#fades);
      fresh.row.read(program.voices, index);
      fresh.origin = origin;
      const old = before.get(fresh.row.id);
      const goesOn = old !== undefined && liesAs(old, fresh) && continues(old, fresh, at - origin, old.from);
      const slot = goesOn ? old : fresh;
      this.#read(slot, program, index);
      slot.late.lookAgain();
      this.#setStrip(slot, program.strips, goesOn ? 'ramped' : 'at-once', at);
      if (goesOn) before.delete(slot.row.id);
      else enterAt(slot, line, at);
      return slot;
    });
    const named = new Set(lists.program.map((slot) => slot.row.id));
    lists.own = lists.own.filter(
      ({ row, pass }) => pass.number > program.passesKnown && !named.has(row.id) && before.delete(row.id),
    );
    lists.forgetSilent(at);
    for (const slot of before.values()) this.#end(slot, Math.max(slot.enters, slot.origin) > at, line, at);
  }

  #read(slot: VoiceSlot, program: Program, index: number): void {
    const { row } = slot;
    row.read(program.voices, index);
    slot.curves = program.curves;
    slot.layerVoice = layerVoice(program, index);
    const chunks = Math.ceil(Math.max(0, row.bodyStart + row.bodyFrames + row.tail) / CHUNK_FRAMES);
    slot.audio = this.#store.known(row.audio, row.channel, chunks);
  }

  #setStrip(slot: VoiceSlot, strips: Float64Array, ramp: 'at-once' | 'ramped', at: number): void {
    slot.strip.left = stripLeft(strips, slot.row.strip);
    slot.strip.right = stripRight(strips, slot.row.strip);
    if (!this.#hushes.isHushed(slot)) slot.setGains(slot.strip.left, slot.strip.right, ramp, at);
  }

  /** One that has not begun fades out at once; one that sounds is cut at the line, and its tail rings on. */
  #end(slot: VoiceSlot, isToCome: boolean, line: number, at: number): void {
    const { leaving } = this.#lists;
    if (isToCome) return this.#lists.letGo(slot, at);
    const lead = slot.cutAt(line - slot.origin, at, this.#fades);
    if (lead !== null) leaving.push(lead);
    leaving.push(slot);
  }

  /** A voice that sounds from now on, in its phase; where nothing plays, from the next start on. */
  #entering(after: VoiceSlot | undefined, curves: Float32Array, standing: Standing): VoiceSlot {
    const slot = new VoiceSlot(curves, this.#fades, after?.pass);
    slot.origin = after?.origin ?? standing.origin ?? 0;
    slot.from = after?.from ?? (standing.origin === null ? Infinity : -Infinity);
    return slot;
  }
}
