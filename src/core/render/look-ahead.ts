/**
 * Looks ahead of what sounds: voice by voice, in rounds, it names the chunks that the next seconds need
 * (needed-chunks.ts). Where nothing plays, the next seconds are those from the top; a program that stands by has its first
 * seconds looked at too. Audio thread; a few voices a block, so that a block costs the same however many there are;
 * allocates while commands are handled.
 */
import type { Program } from '../program/program.js';
import { STANDSTILL } from '../program/program.js';
import type { AudioChannel, AudioStore } from './audio-store.js';
import type { RoundFound } from './needed-chunks.js';
import { NeededChunks } from './needed-chunks.js';
import type { Residency } from './residency.js';
import { StandingBy } from './standing-by.js';
import { VoiceRow } from './voice-iterations.js';
import type { VoiceSlot } from './voice-slot.js';
import type { Wants } from './wants.js';

export type { RoundFound } from './needed-chunks.js';

/** Eight voices in 128 frames. A thousand are looked at in a third of a second. */
const FRAMES_A_VOICE = 16;
/** A round takes at least so long: what is needed changes chunk by chunk. */
const ROUND_FRAMES = 4096;

/** The voices that the engine has, in any order. */
export interface Voices {
  readonly voiceTotal: number;
  voiceAt(index: number): VoiceSlot | undefined;
  /** What is in the pool may be something else. */
  lookAgain(): void;
}

/** Where playing is. */
export interface Playing {
  readonly isPlaying: boolean;
  /** Engine frame of song position 0 for a start that lies ahead; NaN where there is none. */
  readonly comingOrigin: number;
  /** Engine frame from which time stands still until a press; Infinity where it goes on. */
  readonly standsStillFrom: number;
}

/** Audio that may have to be played at once though nobody has said so: where passes under way began. */
export interface Beginnings {
  nameBeginnings(name: (audio: number, channel: number, frame: number) => void): void;
}

export class LookAhead {
  readonly #voices: Voices;
  readonly #playing: Playing;
  readonly #beginnings: Beginnings;
  readonly #wants: Wants;
  readonly #needed: NeededChunks;
  readonly #standingBy: StandingBy;
  /** A voice of the engine's as it will sound from the top. */
  readonly #fromTop = { row: new VoiceRow(), from: 0, cut: Infinity };
  readonly #keepBeginning: (audio: number, channel: number, frame: number) => void;
  /** Song position at which playing from the top begins to sound. */
  #top = 0;
  #cursor = 0;
  #roundBegan = -Infinity;

  constructor(
    engine: {
      readonly voices: Voices;
      readonly playing: Playing;
      readonly beginnings: Beginnings;
      readonly store: AudioStore;
    },
    residency: Residency,
    wants: Wants,
    rate: number,
  ) {
    this.#voices = engine.voices;
    this.#playing = engine.playing;
    this.#beginnings = engine.beginnings;
    this.#wants = wants;
    this.#needed = new NeededChunks(residency, wants, rate);
    this.#standingBy = new StandingBy(engine.store);
    this.#keepBeginning = (audio, channel, frame) => {
      const found = engine.store.find(audio, channel);
      if (found !== undefined) this.#needed.keep(found, frame);
    };
  }

  useProgram(program: Program): void {
    this.#top = -program.leadFrames;
  }

  standBy(slot: number, program: Program): void {
    this.#standingBy.set(slot, program);
  }

  /** Something has changed: looks at every voice at once. Not in `process`. */
  lookAnew(frame: number): RoundFound {
    this.#voices.lookAgain();
    this.#wants.clear();
    this.#beginRound(frame);
    while (this.#cursor < this.#total) this.#lookAtNext(frame);
    return this.#needed.found;
  }

  /**
   * Looks at a few voices.
   * @param room chunks that the pool can hold for them.
   * @param hasty whether rounds follow each other without a rest.
   * @returns what was found when a round is complete; null otherwise.
   */
  advance(frame: number, count: number, room: number, hasty: boolean): RoundFound | null {
    if (this.#cursor >= this.#total) {
      if (!hasty && frame < this.#roundBegan + ROUND_FRAMES) return null;
      this.#needed.fit(this.#standingBy.voices.length, room);
      this.#beginRound(frame);
    }
    const until = Math.min(this.#total, this.#cursor + Math.ceil(count / FRAMES_A_VOICE));
    while (this.#cursor < until) this.#lookAtNext(frame);
    return this.#cursor >= this.#total ? this.#needed.found : null;
  }

  get #total(): number {
    return this.#voices.voiceTotal + this.#standingBy.voices.length;
  }

  #beginRound(frame: number): void {
    this.#cursor = 0;
    this.#roundBegan = frame;
    this.#needed.beginRound();
    this.#beginnings.nameBeginnings(this.#keepBeginning);
  }

  #lookAtNext(frame: number): void {
    const index = this.#cursor++;
    const voices = this.#voices.voiceTotal;
    // Asking for a place below zero would not be free.
    const waiting = index < voices ? undefined : this.#standingBy.voices[index - voices];
    // What stands by comes after everything that is sure to sound.
    if (waiting !== undefined) {
      return this.#needed.look(waiting, waiting.audio, frame, waiting.top, this.#needed.horizon, 'stands-by');
    }
    const slot = this.#voices.voiceAt(index);
    if (slot?.audio === undefined) return;
    const isComing = !Number.isNaN(this.#playing.comingOrigin);
    if (this.#playing.isPlaying && !isComing) return this.#lookAtSounding(slot, slot.audio, frame);
    if (slot.leaving) return;
    const fromTop = this.#fromTop;
    fromTop.row = slot.row;
    fromTop.from = slot.row.start;
    this.#needed.look(fromTop, slot.audio, frame, isComing ? frame - this.#playing.comingOrigin : this.#top, 0, 'sure');
  }

  #lookAtSounding(slot: VoiceSlot, audio: AudioChannel, frame: number): void {
    if (slot.isSilentFrom(frame)) return;
    const { standsStillFrom } = this.#playing;
    const needed = this.#needed;
    needed.look(slot, audio, frame, frame - slot.origin, 0, 'sure');
    needed.letGoBehind(slot, audio, frame - slot.origin);
    // Behind a standstill that is near, or now, time goes on when the player says so: as early as it begins.
    const stillIn = standsStillFrom - frame;
    const resumes = standsStillFrom + STANDSTILL;
    if (stillIn > needed.horizon || slot.origin + slot.row.start < resumes) return;
    needed.look(slot, audio, frame, resumes - slot.origin, Math.max(0, stillIn), 'sure');
  }
}
