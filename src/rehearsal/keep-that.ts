/** "Keep that": bars or a phrase that were played while nobody was recording, and what is told of them. */
import { barFrames } from '../core/meter/grid.js';
import type { EngineReport } from '../core/render/commands.js';
import type { SectionId } from '../core/song/ids.js';
import { sectionOf } from '../core/song/lookups.js';
import { bars, secondsFromFrames } from '../core/units/index.js';
import type { Bars, Frames, SampleRate } from '../core/units/index.js';
import type { Ideas } from './ideas.js';
import { KeptPast } from './kept-past.js';
import type { KeptPhrase } from './kept-past.js';
import type { Notice } from './snapshot.js';
import type { SongDesk } from './song-desk.js';
import type { SoundDesk } from './sound-desk.js';

type Report<Type extends EngineReport['type']> = Extract<EngineReport, { type: Type }>;

/** Bars that are kept where the section has no length yet (phrases are mostly of four: common practice, no source). */
const USUAL_BARS = bars(4);
/** Fewer than so many bars in the past are worth a word. */
const MANY_BARS = 8;

export interface KeepThatPorts {
  readonly song: SongDesk;
  readonly sound: SoundDesk;
  readonly ideas: Ideas;
  readonly section: () => SectionId;
  readonly tell: (notice: Notice) => void;
}

export class KeepThat {
  readonly #ports: KeepThatPorts;
  readonly #rate: SampleRate;
  #past: KeptPast;
  /** The passes that it made and that are still coming in, with the bars that were left out before each. */
  #made = new Map<number, Bars>();

  constructor(ports: KeepThatPorts) {
    this.#ports = ports;
    this.#rate = ports.song.song.sampleRate;
    this.#past = new KeptPast(this.#rate);
  }

  /** @param heard where the player was when they liked what they had played. */
  ask(heard: Frames): void {
    const { song, sound, section, tell } = this.#ports;
    if (!sound.isOpen) return tell({ type: 'nothing-to-keep', why: 'not-listening' });
    sound.send({ type: 'keep-that', heard, bars: sectionOf(song.song, section()).bars ?? USUAL_BARS });
  }

  /** What is to be told of a pass that was kept. */
  noticeOf(pass: number, usual: Notice): Notice {
    const leftOut = this.#made.get(pass);
    this.#made.delete(pass);
    if (leftOut === undefined || usual.type !== 'layer-kept') return usual;
    return { ...usual, type: 'that-kept', leftOut, heldBars: this.#heldBars() };
  }

  hear(report: EngineReport): void {
    switch (report.type) {
      case 'captured':
        this.#past.captured(report);
        break;
      case 'recording-ended':
        this.#onEnded(report);
        break;
      case 'past-kept':
        this.#past.begun(report);
        break;
      case 'bars-kept':
        this.#made.set(report.pass, report.leftOut);
        break;
      case 'refused':
        if (report.command === 'keep-that') this.#onRefused(report.why);
        break;
      default:
    }
  }

  /** The engine is gone: what has come in of the past is all there is of it. */
  interrupted(): void {
    for (const [audio, kept] of this.#past.endAll()) if (kept !== null) this.#keep(audio, kept);
    this.#made = new Map();
  }

  #onRefused(why: Report<'refused'>['why']): void {
    switch (why) {
      case 'no-whole-bar':
      case 'not-in-the-ring':
      case 'still-recording':
      case 'kept-already':
        return this.#ports.tell({ type: 'nothing-to-keep', why });
      default:
    }
  }

  #onEnded(report: Report<'recording-ended'>): void {
    const kept = this.#past.ended(report);
    if (kept === undefined) return;
    if (kept === null) return this.#ports.tell({ type: 'nothing-to-keep', why: 'nothing-heard' });
    this.#keep(report.audio, kept);
  }

  #keep(audio: number, { phrase, channels }: KeptPhrase): void {
    const lasts = secondsFromFrames(phrase.frames, this.#rate);
    this.#ports.ideas.keep({ audio, channels, ...phrase }, { type: 'idea-kept', seconds: lasts });
  }

  /** Bars of the past that are held, where that is little; null where it is enough. */
  #heldBars(): Bars | null {
    const { metre, tempo, sampleRate } = this.#ports.song.song;
    const held = this.#ports.sound.heldFrames;
    const whole = Math.floor(held / barFrames(metre, tempo, sampleRate));
    return whole < MANY_BARS ? bars(whole) : null;
  }
}
