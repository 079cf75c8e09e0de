/** What an engine is told of the song: how passes are made, and the program that it plays. One lives as long as an engine. */
import { defaultCountIn } from '../core/meter/count-in.js';
import { barFrames } from '../core/meter/grid.js';
import { compile } from '../core/program/compile.js';
import type { PassRules } from '../core/render/commands.js';
import type { SectionId } from '../core/song/ids.js';
import { songBar, stretchesOfSection } from '../core/song/section-time.js';
import type { Section, Song } from '../core/song/song.js';
import type { Frames } from '../core/units/index.js';
import { gainFromDecibels } from '../core/units/index.js';
import type { EngineHandles } from './handles.js';
import { Handover } from './handover.js';
import type { SoundDesk } from './sound-desk.js';

export class Briefing {
  readonly #sound: SoundDesk;
  readonly #handles: EngineHandles;
  readonly #handover: Handover;
  #revision = 0;
  #whenReady: () => void = () => undefined;

  constructor(sound: SoundDesk, handles: EngineHandles) {
    this.#sound = sound;
    this.#handles = handles;
    this.#handover = new Handover((recording) => handles.isLocal(recording));
  }

  /** Resolves when the engine has the newest program whole, or is gone. */
  ready(): Promise<void> {
    return new Promise((resolve) => {
      this.#whenReady = resolve;
    });
  }

  close(): void {
    this.#whenReady();
  }

  /** @param section the one that goes round. */
  sendRules(song: Song, section: Section, rules: Omit<PassRules, 'countIn' | 'loopBars'>): void {
    const countIn = song.countIn ?? defaultCountIn(countedBarFrames(song, section), song.sampleRate);
    this.#sound.send({ type: 'set-rules', rules: { ...rules, loopBars: section.bars, countIn } });
    this.#sound.send({ type: 'set-click', playing: song.click.on, gain: gainFromDecibels(song.click.gain) });
  }

  sendProgram(song: Song, section: SectionId): void {
    if (!this.#sound.isOpen) return;
    this.#revision++;
    const isRunning = this.#sound.plan.type === 'running';
    const next = this.#handover.next(song, section, isRunning, this.#revision);
    const program = compile(next, { type: 'loop', section }, this.#handles, this.#revision);
    this.#sound.send({ type: 'use-program', program });
  }

  /** The engine has a program whole. @returns whether it is the newest, and only leads to the one that is meant. */
  isBridge(revision: number): boolean {
    if (revision !== this.#revision) return false;
    if (this.#handover.isReady(revision)) return true;
    this.#whenReady();
    return false;
  }
}

/** A section is counted in in the metre and tempo with which its first measured bar begins. */
function countedBarFrames(song: Song, section: Section): Frames {
  const measured = stretchesOfSection(song, section).find((stretch) => stretch.type !== 'free');
  const { metre, tempo } = measured ?? songBar(song);
  return barFrames(metre, tempo, song.sampleRate);
}
