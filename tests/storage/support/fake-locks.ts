/** The locks of one browser (Web Locks API, W3C Working Draft): as much of them as a library asks for. */
import type { Locks } from '../../../src/storage/one-writer.js';

interface Waiting {
  readonly name: string;
  readonly grant: (lock: Lock) => void;
}

/** Exclusive locks alone. Windows of one browser share one of these. */
export class FakeLocks implements Locks {
  readonly asked: LockOptions[] = [];
  readonly #held = new Set<string>();
  #waiting: readonly Waiting[] = [];

  request<Answer>(name: string, callback: LockGrantedCallback<Answer>): Promise<Awaited<Answer>>;
  request<Answer>(name: string, options: LockOptions, callback: LockGrantedCallback<Answer>): Promise<Awaited<Answer>>;
  async request<Answer>(
    name: string,
    given: LockOptions | LockGrantedCallback<Answer>,
    last?: LockGrantedCallback<Answer>,
  ): Promise<Awaited<Answer>> {
    const callback = typeof given === 'function' ? given : last!;
    const options = typeof given === 'function' ? {} : given;
    this.asked.push(options);
    const lock = await this.#granted(name, options.signal);
    try {
      return await callback(lock);
    } finally {
      this.#free(name);
    }
  }

  /** What the browser does for a page that has gone. */
  endHolder(name: string): void {
    this.#free(name);
  }

  isHeld(name: string): boolean {
    return this.#held.has(name);
  }

  #granted(name: string, signal: AbortSignal | undefined): Promise<Lock> {
    return new Promise((resolve, reject) => {
      const waiting = { name, grant: resolve };
      signal?.addEventListener('abort', () => {
        this.#waiting = this.#waiting.filter((each) => each !== waiting);
        reject(new DOMException('The request was aborted.', 'AbortError'));
      });
      this.#waiting = [...this.#waiting, waiting];
      this.#grant(name);
    });
  }

  #free(name: string): void {
    this.#held.delete(name);
    this.#grant(name);
  }

  #grant(name: string): void {
    const next = this.#waiting.find((each) => each.name === name);
    if (this.#held.has(name) || next === undefined) return;
    this.#waiting = this.#waiting.filter((each) => each !== next);
    this.#held.add(name);
    next.grant({ name, mode: 'exclusive' });
  }
}
