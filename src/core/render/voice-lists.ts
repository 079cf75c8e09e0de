/**
 * The voices that the engine has, in the order in which they are added: those of the program, those the engine started
 * itself, those that are leaving. Audio thread; changed while commands are handled.
 */
import type { VoiceSlot } from './voice-slot.js';

export class VoiceLists {
  /** In the program's order. */
  program: VoiceSlot[] = [];
  /** Voices of passes that have a closing line and are in no program yet. */
  own: VoiceSlot[] = [];
  leaving: VoiceSlot[] = [];

  get total(): number {
    return this.program.length + this.own.length + this.leaving.length;
  }

  at(index: number): VoiceSlot | undefined {
    const program = this.program.length;
    if (index < program) return this.program[index];
    const own = index - program;
    return own < this.own.length ? this.own[own] : this.leaving[own - this.own.length];
  }

  /** Those of the program and the engine's own. */
  get staying(): readonly VoiceSlot[] {
    return [...this.program, ...this.own];
  }

  stayingById(): Map<number, VoiceSlot> {
    return new Map(this.staying.map((slot) => [slot.row.id, slot]));
  }

  /** Fades out from an engine frame on. */
  letGo(slot: VoiceSlot, at: number): void {
    slot.leave(at);
    this.leaving.push(slot);
  }

  /** Takes off the list what has rung out, or faded out, by an engine frame. */
  forgetSilent(at: number): void {
    this.leaving = this.leaving.filter((slot) => !slot.isSilentFrom(at));
  }
}
