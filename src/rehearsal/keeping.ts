/**
 * The queue to storage: one write after another, in the order they were made. A write that fails stays at the head and
 * is tried again with the next one, so nothing that was played is dropped while the page lives.
 */
import type { Result } from '../core/result/result.js';
import { failure, success } from '../core/result/result.js';
import type { Milliseconds } from '../core/units/index.js';
import type { StorageRefusal } from '../ports/library.js';
import type { KeepingView } from './snapshot.js';

/** Writes that may wait before it is said: a pass makes two a second, and each takes some hundredths of one. */
const NORMAL_BACKLOG = 6;
const RETRY_MS = 2000;

export type Write = () => Promise<Result<null, StorageRefusal>>;

export class Keeping {
  readonly #changed: (view: KeepingView) => void;
  readonly #lost: StorageRefusal | null;
  readonly #waiting: Write[] = [];
  #running: Promise<void> | null = null;
  #view: KeepingView;
  #tried = -Infinity;

  /** @param lost why nothing will be there after a reload; null if storage works. */
  constructor(lost: StorageRefusal | null, changed: (view: KeepingView) => void) {
    this.#view = lost === null ? { state: 'kept' } : { state: 'not-kept', reason: lost };
    this.#lost = lost;
    this.#changed = changed;
  }

  get view(): KeepingView {
    return this.#view;
  }

  enqueue(write: Write): void {
    this.#waiting.push(write);
    const isLong = this.#waiting.length > NORMAL_BACKLOG;
    if (this.#lost === null && this.#view.state === 'kept' && isLong) this.#show({ state: 'saving' });
    this.#start();
  }

  /** Whether something is not written yet. */
  get isBehind(): boolean {
    return this.#waiting.length > 0;
  }

  /** Tries again what could not be written, every two seconds. */
  retry(now: Milliseconds): void {
    if (this.#waiting.length === 0 || this.#running !== null || now - this.#tried < RETRY_MS) return;
    this.#tried = now;
    this.#start();
  }

  #start(): void {
    this.#running ??= this.#run();
  }

  /** Resolves when everything enqueued so far is kept. Waits for ever where it cannot be. */
  keptSoFar(): Promise<void> {
    return new Promise((resolve) => {
      this.enqueue(() => {
        resolve();
        return Promise.resolve(success(null));
      });
    });
  }

  /** Resolves when nothing is under way. */
  async settled(): Promise<void> {
    while (this.#running !== null) await this.#running;
  }

  async #run(): Promise<void> {
    let refused = this.#lost;
    for (let write = this.#waiting[0]; write !== undefined; write = this.#waiting[0]) {
      const result = await attempt(write);
      if (!result.ok) {
        refused = result.reason;
        break;
      }
      this.#waiting.shift();
    }
    // At once, and before anybody is told: a write that comes next must not wait for this run, which makes no more.
    this.#running = null;
    this.#show(refused === null ? { state: 'kept' } : { state: 'not-kept', reason: refused });
  }

  #show(view: KeepingView): void {
    const isSame = view.state === this.#view.state && view.state !== 'not-kept';
    this.#view = view;
    if (!isSame) this.#changed(view);
  }
}

/** A write that throws is a mistake of ours, not of the player's: it waits like one that was refused. */
async function attempt(write: Write): Promise<Result<null, StorageRefusal>> {
  try {
    return await write();
  } catch {
    return failure('storage-failed');
  }
}
