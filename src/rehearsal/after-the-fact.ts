/**
 * What only becomes a part of the song after it was played: a loop without a tempo, the last bars or the last phrase that
 * nobody was recording, and what was being recorded when playing stopped.
 */
import type { EngineReport } from '../core/render/commands.js';
import type { Frames } from '../core/units/index.js';
import type { FreePlayingPorts } from './free-playing.js';
import { FreePlaying } from './free-playing.js';
import type { CutPass, IdeasPorts } from './ideas.js';
import { Ideas } from './ideas.js';
import { KeepThat } from './keep-that.js';
import type { Notice } from './snapshot.js';

export type AfterTheFactPorts = Omit<FreePlayingPorts, 'ideas'> & IdeasPorts;

export class AfterTheFact {
  readonly #ideas: Ideas;
  readonly #free: FreePlaying;
  readonly #that: KeepThat;

  constructor(ports: AfterTheFactPorts) {
    this.#ideas = new Ideas(ports);
    this.#free = new FreePlaying({ ...ports, ideas: this.#ideas });
    this.#that = new KeepThat({ ...ports, ideas: this.#ideas });
  }

  /** @returns whether a loop whose end was being found was all that there was to take back. */
  takeBack(): boolean {
    return this.#free.takeBack();
  }

  /** @param heard where the player was when they liked what they had played. */
  keepThat(heard: Frames): void {
    this.#that.ask(heard);
  }

  /** What is to be told of a pass that was kept. */
  noticeOf(pass: number, usual: Notice): Notice {
    return this.#that.noticeOf(pass, usual);
  }

  /** What was played of a pass that never came to its line. */
  keepCut(cut: CutPass): void {
    this.#ideas.keepCut(cut);
  }

  /** Everything that the engine reports, after it was taken in. */
  hear(report: EngineReport): void {
    if (report.type === 'captured') this.#ideas.captured(report);
    if (report.type === 'pass-cut') this.keepCut(report);
    this.#free.hear(report);
    this.#that.hear(report);
  }

  /** The engine is gone; what came in is in storage, or on its way there. */
  interrupted(): void {
    this.#free.interrupted();
    this.#that.interrupted();
    this.#ideas.interrupted();
  }
}
