/**
 * The voices that the engine started itself: of passes that have a closing line and are in no program yet. Audio thread;
 * runs while commands are handled and when a pass closes.
 */
import { Voice } from '../program/program.js';
import type { AudioStore } from './audio-store.js';
import { continues } from './continuing.js';
import type { Hushes } from './hushes.js';
import type { OwnVoice } from './own-voice.js';
import type { Standing } from './program-voices.js';
import { VoiceRow } from './voice-iterations.js';
import type { VoiceLists } from './voice-lists.js';
import type { FadeFrames, FromPass } from './voice-slot.js';
import { VoiceSlot } from './voice-slot.js';

export class PassVoices {
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

  /** Frames before their bodies in which they sound. */
  get leadFrames(): number {
    return Math.max(0, ...this.#lists.own.map((slot) => slot.row.lead));
  }

  /** Plays a pass from its closing line on; where that has been rendered, it joins under way. */
  add({ row, curves }: OwnVoice, standing: Standing, pass: FromPass): void {
    const slot = new VoiceSlot(curves, this.#fades, pass);
    slot.row.read(row, 0);
    slot.audio = this.#store.find(slot.row.audio, slot.row.channel);
    slot.origin = standing.origin ?? 0;
    slot.from = slot.row.start;
    const inTime = standing.origin === null || standing.origin + slot.row.start - slot.row.lead >= standing.at;
    slot.strip.left = 1;
    slot.strip.right = 1;
    if (!this.#hushes.isHushed(slot)) slot.setGains(1, 1, inTime ? 'at-once' : 'ramped', standing.at);
    this.#lists.own.push(slot);
  }

  /** It begins elsewhere, or has another body. */
  move({ row, curves }: OwnVoice, origin: number, at: number): void {
    const slot = this.#find(row[Voice.id]);
    if (slot === undefined) return;
    slot.row.read(row, 0);
    slot.curves = curves;
    slot.origin = origin;
    slot.from = slot.row.start;
    if (slot.origin + slot.row.start - slot.row.lead < at) slot.joinAt(at);
  }

  /** It opens otherwise: where that does not touch what sounds. Else it stays until a program comes. */
  open({ row, curves }: OwnVoice, at: number): void {
    const slot = this.#find(row[Voice.id]);
    if (slot === undefined) return;
    const fresh = new VoiceRow();
    fresh.read(row, 0);
    const position = at - slot.origin;
    const isAhead = position <= slot.row.start - Math.max(slot.row.lead, fresh.lead);
    if (!isAhead && !continues(slot, { row: fresh, curves }, position, slot.from)) return;
    slot.row.read(row, 0);
    slot.curves = curves;
  }

  /** It fades out from an engine frame on. */
  drop(id: number, at: number): void {
    const lists = this.#lists;
    const slot = this.#find(id);
    if (slot === undefined) return;
    lists.own = lists.own.filter((each) => each !== slot);
    lists.letGo(slot, at);
  }

  #find(id: number | undefined): VoiceSlot | undefined {
    return this.#lists.own.find((slot) => slot.row.id === id);
  }
}
