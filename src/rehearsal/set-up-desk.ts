/** What was chosen on this machine: read once, and kept with every change. */
import type { Library, SetUp } from '../ports/library.js';
import type { Keeping } from './keeping.js';

export class SetUpDesk {
  readonly #library: Library;
  readonly #keeping: Keeping;
  #current: SetUp;

  constructor(current: SetUp, library: Library, keeping: Keeping) {
    this.#current = current;
    this.#library = library;
    this.#keeping = keeping;
  }

  get current(): SetUp {
    return this.#current;
  }

  change(change: (setUp: SetUp) => SetUp): void {
    const next = change(this.#current);
    this.#current = next;
    this.#keeping.enqueue(() => this.#library.keepSetUp(next));
  }
}
