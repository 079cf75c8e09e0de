/** The document as it is being worked on: history, and every step of it on its way to storage. */
import type { History } from '../core/history/history.js';
import { nextToPutBack, nextToTakeBack, putBack, record, songOf, takeBack } from '../core/history/steps.js';
import type { Edit, EditRefusal } from '../core/song/edits.js';
import type { Song } from '../core/song/song.js';
import type { Clock } from '../ports/clock.js';
import type { Library } from '../ports/library.js';
import type { Keeping } from './keeping.js';

export class SongDesk {
  readonly #library: Library;
  readonly #keeping: Keeping;
  readonly #clock: Clock;
  #history: History;

  constructor(history: History, library: Library, keeping: Keeping, clock: Clock) {
    this.#history = history;
    this.#library = library;
    this.#keeping = keeping;
    this.#clock = clock;
  }

  get song(): Song {
    return songOf(this.#history);
  }

  get canTakeBack(): Edit | null {
    return nextToTakeBack(this.#history);
  }

  get canPutBack(): Edit | null {
    return nextToPutBack(this.#history);
  }

  /** @returns why the edit was refused; null if it holds. An edit that changes nothing is not journalled. */
  apply(edit: Edit): EditRefusal | null {
    const before = this.song;
    const result = record(this.#history, edit, this.#clock.today());
    if (!result.ok) return result.reason;
    if (songOf(result.value) === before) return null;
    this.#history = result.value;
    const journalled = this.#history.edits.at(-1);
    if (journalled !== undefined) this.#keeping.enqueue(() => this.#library.appendEdit(before.id, journalled));
    return null;
  }

  takeBack(): Edit | null {
    const edit = this.canTakeBack;
    if (edit !== null) this.#move(takeBack(this.#history));
    return edit;
  }

  putBack(): Edit | null {
    const edit = this.canPutBack;
    if (edit !== null) this.#move(putBack(this.#history));
    return edit;
  }

  #move(history: History): void {
    this.#history = history;
    const { id } = this.song;
    this.#keeping.enqueue(() => this.#library.moveCursor(id, history.cursor));
  }
}
