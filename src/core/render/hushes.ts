/**
 * Which voices are silent because another take of them is being recorded, whatever their strips say: from the pass's
 * line on, until the pass is dropped or a program knows of it. Audio thread; runs while commands are handled.
 */
import type { VoiceSlot } from './voice-slot.js';

interface Hush {
  readonly pass: number;
  readonly voice: number;
}

export class Hushes {
  #hushed: readonly Hush[] = [];

  /** A pass is another take of a voice, and of what older passes made of it: these are silent from an engine frame on. */
  add(pass: number, voice: number, slots: readonly VoiceSlot[], at: number): void {
    this.#hushed = [...this.#hushed, { pass, voice }];
    for (const slot of slots) if (this.isHushed(slot)) slot.setGains(0, 0, 'ramped', at);
  }

  /** The pass was dropped: what was silent for it alone comes back from an engine frame on. */
  drop(pass: number, slots: readonly VoiceSlot[], at: number): void {
    const silent = slots.filter((slot) => this.isHushed(slot));
    this.#hushed = this.#hushed.filter((hush) => hush.pass !== pass);
    for (const slot of silent) {
      if (!this.isHushed(slot)) slot.setGains(slot.strip.left, slot.strip.right, 'ramped', at);
    }
  }

  /** A program knows of passes up to this one. */
  dropKnown(passesKnown: number): void {
    this.#hushed = this.#hushed.filter(({ pass }) => pass > passesKnown);
  }

  isHushed({ row, layerVoice = row.id, pass: from }: VoiceSlot): boolean {
    return this.#hushed.some(
      ({ pass, voice }) => layerVoice === voice || (from.replaces === voice && from.number < pass),
    );
  }
}
