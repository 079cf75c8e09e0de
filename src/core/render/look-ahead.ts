/**
 * Looks ahead of what sounds: voice by voice, in rounds, it names the chunks that the next seconds need. What is here is
 * kept; what is missing goes on the list of wants. Where nothing plays, the next seconds are those from the top; a
 * program that stands by has its first seconds looked at too. Audio thread; a few voices a block, so that a block costs
 * the same however many there are; allocates while commands are handled.
 */
import type { Program } from '../program/program.js';
import { STANDSTILL, voiceCount } from '../program/program.js';
import type { AudioChannel, AudioStore } from './audio-store.js';
import { Horizon } from './horizon.js';
import type { Sounding } from './needs.js';
import { ChunkWalk } from './needs.js';
import { CHUNK_FRAMES } from './pool.js';
import type { Residency } from './residency.js';
import { VoiceRow } from './voice-iterations.js';
import type { VoiceSlot } from './voice-slot.js';
import type { Wants } from './wants.js';

/** Eight voices in 128 frames. A thousand are looked at in a third of a second. */
const FRAMES_A_VOICE = 16;
/** A round takes at least so long: what is needed changes chunk by chunk. */
const ROUND_FRAMES = 4096;
/** Chunks behind a voice that are looked at, to see whether it has done with them: more than pass in a round. */
const BEHIND = 3;

/** The voices that the engine has, in any order. */
export interface Voices {
  readonly voiceTotal: number;
  voiceAt(index: number): VoiceSlot | undefined;
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

/** What a round has found. */
export interface RoundFound {
  /** Chunks that will sound in the first seconds and are not here. */
  readonly missing: number;
  /** The same for the programs that stand by. */
  readonly missingInStandBy: number;
}

interface WaitingVoice extends Sounding {
  readonly audio: AudioChannel;
  readonly top: number;
}

export class LookAhead {
  readonly #voices: Voices;
  readonly #playing: Playing;
  readonly #beginnings: Beginnings;
  readonly #store: AudioStore;
  readonly #residency: Residency;
  readonly #wants: Wants;
  readonly #horizon: Horizon;
  readonly #walk = new ChunkWalk();
  /** A voice of the engine's as it will sound from the top. */
  readonly #fromTop = { row: new VoiceRow(), from: 0, cut: Infinity };
  readonly #keepBeginning: (audio: number, channel: number, frame: number) => void;
  /** Song position at which playing from the top begins to sound. */
  #top = 0;
  readonly #standBy = new Map<number, readonly WaitingVoice[]>();
  #waiting: readonly WaitingVoice[] = [];
  #cursor = 0;
  #roundBegan = -Infinity;
  readonly #found = { missing: 0, missingInStandBy: 0, needed: 0, neededInStandBy: 0 };
  #frame = 0;
  // Of the voice that is being looked at: where its span begins, frames from now, and whether it stands by.
  #begin = 0;
  #later = 0;
  #inStandBy = false;

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
    this.#store = engine.store;
    this.#residency = residency;
    this.#wants = wants;
    this.#horizon = new Horizon(rate);
    this.#keepBeginning = (audio, channel, frame) => {
      this.#keep(this.#store.find(audio, channel), frame);
    };
  }

  useProgram(program: Program): void {
    this.#top = -program.leadFrames;
  }

  standBy(slot: number, program: Program): void {
    this.#standBy.set(
      slot,
      Array.from({ length: voiceCount(program) }, (_, index) => {
        const row = new VoiceRow();
        row.read(program.voices, index);
        const chunks = Math.ceil(Math.max(0, row.bodyStart + row.bodyFrames + row.tail) / CHUNK_FRAMES);
        const audio = this.#store.known(row.audio, row.channel, chunks);
        return { row, audio, from: row.start, cut: Infinity, top: -program.leadFrames };
      }),
    );
    this.#waiting = [...this.#standBy.values()].flat();
  }

  /** Something has changed: looks at every voice at once. Not in `process`. */
  lookAnew(frame: number): RoundFound {
    for (let i = 0; i < this.#voices.voiceTotal; i++) this.#voices.voiceAt(i)?.late.lookAgain();
    this.#wants.clear();
    this.#beginRound(frame);
    while (this.#cursor < this.#total) this.#lookAtNext(frame);
    return this.#found;
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
      this.#horizon.fit(this.#found.needed, this.#found.neededInStandBy, this.#waiting.length, room);
      this.#beginRound(frame);
    }
    const until = Math.min(this.#total, this.#cursor + Math.ceil(count / FRAMES_A_VOICE));
    while (this.#cursor < until) this.#lookAtNext(frame);
    return this.#cursor >= this.#total ? this.#found : null;
  }

  get #total(): number {
    return this.#voices.voiceTotal + this.#waiting.length;
  }

  #beginRound(frame: number): void {
    this.#cursor = 0;
    this.#roundBegan = frame;
    this.#found.missing = 0;
    this.#found.missingInStandBy = 0;
    this.#found.needed = 0;
    this.#found.neededInStandBy = 0;
    this.#residency.beginRound();
    this.#beginnings.nameBeginnings(this.#keepBeginning);
  }

  #lookAtNext(frame: number): void {
    const index = this.#cursor++;
    const voices = this.#voices.voiceTotal;
    this.#frame = frame;
    this.#inStandBy = index >= voices;
    const waiting = this.#waiting[index - voices];
    // What stands by comes after everything that is sure to sound.
    if (waiting !== undefined) return this.#look(waiting, waiting.audio, waiting.top, this.#horizon.frames);
    const slot = this.#voices.voiceAt(index);
    if (slot?.audio === undefined) return;
    const isComing = !Number.isNaN(this.#playing.comingOrigin);
    if (this.#playing.isPlaying && !isComing) return this.#lookAtSounding(slot, slot.audio, frame);
    if (slot.leaving) return;
    const fromTop = this.#fromTop;
    fromTop.row = slot.row;
    fromTop.from = slot.row.start;
    this.#look(fromTop, slot.audio, isComing ? frame - this.#playing.comingOrigin : this.#top, 0);
  }

  #lookAtSounding(slot: VoiceSlot, audio: AudioChannel, frame: number): void {
    if (slot.isSilentFrom(frame)) return;
    const { standsStillFrom } = this.#playing;
    this.#look(slot, audio, frame - slot.origin, 0);
    this.#letGoBehind(slot, audio, frame - slot.origin);
    // Behind a standstill that is near, or now, time goes on when the player says so: as early as it begins.
    const stillIn = standsStillFrom - frame;
    const resumes = standsStillFrom + STANDSTILL;
    if (stillIn > this.#horizon.frames || slot.origin + slot.row.start < resumes) return;
    this.#look(slot, audio, resumes - slot.origin, Math.max(0, stillIn));
  }

  /** @param later frames from now on to the moment at which the span may begin to sound. */
  #look(voice: Sounding, audio: AudioChannel, begin: number, later: number): void {
    const walk = this.#walk;
    this.#begin = begin;
    this.#later = later;
    walk.start(voice, begin, begin + (this.#inStandBy ? this.#horizon.standByFrames : this.#horizon.frames));
    while (walk.next()) for (let index = walk.first; index < walk.after; index++) this.#need(audio, index);
  }

  #need(audio: AudioChannel, index: number): void {
    const chunk = audio.chunkAt(index);
    const found = this.#found;
    if (chunk >= 0) {
      if (!this.#residency.touch(chunk)) return;
    } else {
      if (!audio.canBeLoaded(index)) return;
      const ahead = this.#walk.soundsAt(index) - this.#begin + this.#later;
      if (this.#inStandBy) found.missingInStandBy++;
      else if (ahead < this.#horizon.readyFrames) found.missing++;
      if (!audio.isAsked(index)) this.#wants.add(audio, index, this.#frame + ahead);
    }
    if (this.#inStandBy) found.neededInStandBy++;
    else found.needed++;
  }

  /** Chunks that a voice has played and will not play again, because no iteration follows. */
  #letGoBehind(slot: VoiceSlot, audio: AudioChannel, position: number): void {
    const { row, cut } = slot;
    const round = Math.floor((position - row.start) / row.bodyFrames);
    const bodyAt = row.start + round * row.bodyFrames;
    const end = Math.min(row.end, cut);
    if (round < 0 || bodyAt >= end || bodyAt + row.bodyFrames < end || position < bodyAt + row.tail) return;
    const now = Math.floor((row.bodyStart + position - bodyAt) / CHUNK_FRAMES);
    for (let index = now - BEHIND; index < now; index++) {
      const chunk = audio.chunkAt(index);
      if (chunk >= 0) this.#residency.retire(chunk);
    }
  }

  #keep(audio: AudioChannel | undefined, frame: number): void {
    if (audio === undefined) return;
    const first = Math.max(0, Math.floor(frame / CHUNK_FRAMES) - 1);
    const last = Math.floor((frame + this.#horizon.frames) / CHUNK_FRAMES);
    for (let index = first; index <= last; index++) {
      const chunk = audio.chunkAt(index);
      if (chunk >= 0 && this.#residency.touch(chunk)) this.#found.needed++;
    }
  }
}
