/**
 * The voices, what is done to them, and their sum. How a program takes them over is in program-voices.ts, what they sound
 * like in voice-sum.ts, which is told of every change here. Audio thread; only `render`, `startFrom` and `joinFrom` run in
 * `process`, and they allocate nothing.
 */
import type { Program } from '../program/program.js';
import type { SampleRate } from '../units/index.js';
import type { AudioStore } from './audio-store.js';
import { Hushes } from './hushes.js';
import type { OwnVoice } from './own-voice.js';
import { PassVoices } from './pass-voices.js';
import type { ChunkPool } from './pool.js';
import type { Standing } from './program-voices.js';
import { ProgramVoices } from './program-voices.js';
import { keepsBodies, readAnew, roundShift } from './same-bodies.js';
import { joinFrom, moveBehind, settle, startFrom } from './voice-entrances.js';
import { CUT_SECONDS } from './voice-iterations.js';
import { VoiceLists } from './voice-lists.js';
import type { FadeFrames, FromPass, VoiceSlot } from './voice-slot.js';
import { VoiceSum } from './voice-sum.js';

export type { Standing } from './program-voices.js';
export { MIX_FRAMES } from './voice-sum.js';

const RAMP_SECONDS = 0.008;

export class Mixer {
  readonly #fades: FadeFrames;
  readonly #lists = new VoiceLists();
  #settles = false;
  readonly #hushes = new Hushes();
  readonly #programs: ProgramVoices;
  readonly #own: PassVoices;
  readonly #sum: VoiceSum;

  constructor(pool: ChunkPool, store: AudioStore, rate: SampleRate) {
    this.#fades = { rampFrames: Math.round(RAMP_SECONDS * rate), cutFrames: Math.round(CUT_SECONDS * rate) };
    this.#programs = new ProgramVoices(this.#lists, this.#hushes, store, this.#fades);
    this.#own = new PassVoices(this.#lists, this.#hushes, store, this.#fades);
    this.#sum = new VoiceSum(pool);
  }

  /** Frames that a gain takes to move. */
  get rampFrames(): number {
    return this.#fades.rampFrames;
  }

  get hasVoices(): boolean {
    return this.#lists.program.length + this.#lists.own.length > 0;
  }

  /** Frames before their bodies in which voices sound that are in no program yet. */
  get ownLeadFrames(): number {
    return this.#own.leadFrames;
  }

  /** All voices, those that are leaving included. */
  get voiceTotal(): number {
    return this.#lists.total;
  }

  voiceAt(index: number): VoiceSlot | undefined {
    return this.#lists.at(index);
  }

  /** What is in the pool may be something else: every voice looks anew. */
  lookAgain(): void {
    for (let i = 0; i < this.#lists.total; i++) this.#lists.at(i)?.late.lookAgain();
    this.#changed();
  }

  /** Takes over a program: voices it names go on sample for sample, new ones join in phase, others leave. */
  useProgram(program: Program, standing: Standing): void {
    this.#programs.use(program, standing);
    this.#changed();
  }

  /**
   * Another program begins at a line that has not been rendered: its voices start anew there, with their leads before
   * it; those of the old one end there, and their tails ring on. One that was to begin at that line does not.
   * @param at first engine frame that the change may touch.
   */
  change(program: Program, line: number, at: number): void {
    this.#programs.change(program, line, at);
    this.#changed();
  }

  /**
   * The program's bar lines hold from a line on that has not been rendered. Voices that lie as before go on sample for
   * sample; others end there, their tails ringing on, and begin there anew, under way if they have to. Voices of passes
   * that the program does not know go on.
   * @param origin engine frame of song position 0 as the program counts from that line on
   * @param at first engine frame that may still be touched
   */
  changeBars(program: Program, line: number, origin: number, at: number): void {
    this.#programs.changeBars(program, line, origin, at);
    this.#changed();
  }

  /**
   * A loop that was read as other bars has a body of another length, by a few frames of rounding.
   * @param position in the song, now.
   * @returns frames by which position 0 has to move so that the round under way goes on where it is; 0 where no body
   * of a program's voice changes.
   */
  roundShift(program: Program, position: number): number {
    return roundShift(this.#lists.program, program, position);
  }

  /**
   * Whether some voice goes on, and all that do keep their audio and their body, but for what rounding makes of its
   * length: then what sounds stays as it is, and only its bars are read anew.
   */
  keepsBodies(program: Program): boolean {
    return keepsBodies(this.#lists.program, program);
  }

  /** Position 0 is another engine frame, and bodies are as long as a program has them: the round under way stays. */
  readAnew(program: Program, by: number): void {
    readAnew(this.#lists.program, program, by);
    this.#changed();
  }

  /**
   * Playing starts from the top: voices that are under way at line 0 are joined there, the others begin by themselves.
   * @param origin engine frame of line 0
   * @param at first engine frame that sounds: a lead that would have begun before it rises there from silence.
   */
  startFrom(origin: number, at: number): void {
    this.#settleNow();
    startFrom(this.#lists, origin, at);
    this.#changed();
  }

  /** Playing is taken up under way: every voice is joined in its phase at an engine frame. */
  joinFrom(origin: number, at: number): void {
    this.#settleNow();
    joinFrom(this.#lists, origin, at);
    this.#changed();
  }

  /**
   * Playing starts anew: voices that were to come in at a line are there from the next start on. Not before: what was
   * playing may still be fading out.
   */
  settle(): void {
    this.#settles = true;
  }

  /**
   * Time goes on after a standstill: what the program has at or behind an engine frame comes `by` frames later (by is
   * below 0). A lead that would have begun already is cut, and rises from silence.
   */
  moveBehind(frame: number, by: number, at: number): void {
    moveBehind(this.#lists.program, frame, by, at);
    this.#changed();
  }

  /**
   * A pass is another take of a voice: that voice, and older passes that were another take of it too, are silent from an
   * engine frame on, whatever their strips say, until `unhush` or a program that knows of the pass.
   */
  hush(pass: number, voice: number, at: number): void {
    this.#hushes.add(pass, voice, this.#lists.staying, at);
    this.#changed();
  }

  /** The pass was dropped: what was silent for it alone comes back. */
  unhush(pass: number, at: number): void {
    this.#hushes.drop(pass, this.#lists.staying, at);
    this.#changed();
  }

  /** A pass has its closing line: from there on it is played. Where that line has been rendered, it joins under way. */
  addOwn(voice: OwnVoice, standing: Standing, pass: FromPass): void {
    this.#own.add(voice, standing, pass);
    this.#changed();
  }

  /** The voice of a pass begins elsewhere, or has another body: time went on after a standstill. */
  moveOwn(voice: OwnVoice, origin: number, at: number): void {
    this.#own.move(voice, origin, at);
    this.#changed();
  }

  /**
   * The voice of a pass opens otherwise: where that does not touch what sounds. Else it stays until a program comes.
   * @param at first engine frame that the change may touch.
   */
  openOwn(voice: OwnVoice, at: number): void {
    this.#own.open(voice, at);
    this.#changed();
  }

  dropOwn(id: number, at: number): void {
    this.#own.drop(id, at);
    this.#changed();
  }

  /**
   * Adds all voices at engine frames [frame, frame + count), count ≤ MIX_FRAMES.
   * @returns frames of voices that were not in the pool.
   */
  render(frame: number, count: number, left: Float64Array, right: Float64Array): number {
    return this.#sum.render(frame, count, left, right);
  }

  #settleNow(): void {
    if (this.#settles) settle(this.#lists.program);
    this.#settles = false;
  }

  #changed(): void {
    this.#sum.take(this.#lists);
  }
}
