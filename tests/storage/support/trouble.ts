/** Trouble that a browser can make: a full disk, an aborted transaction, a connection that is gone. */
import { forceCloseDatabase } from 'fake-indexeddb';
import { vi } from 'vitest';

/** How a write request can go wrong. */
export type Trouble =
  /** The request itself is refused. */
  | 'refused-for-space'
  /** The disk is found full while the transaction runs: the browser aborts it and says why. */
  | 'aborted-for-space'
  /** The page, or the browser, goes away in the middle. */
  | 'interrupted';

const WRITES = ['add', 'put', 'delete'] as const;

/** A method as it is now, to be called with a `this` of its kind. */
export function methodOf<Host extends object, Name extends keyof Host>(host: Host, name: Name): Host[Name] {
  return host[name];
}

/**
 * Lets `trouble` befall the write request number `which` (from 0), counted from now on.
 * @returns how many write requests were made.
 */
export function befall(trouble: Trouble, which: number): () => number {
  let made = 0;
  for (const name of WRITES) {
    const original = methodOf(IDBObjectStore.prototype, name) as (
      this: IDBObjectStore,
      ...args: unknown[]
    ) => IDBRequest;
    vi.spyOn(IDBObjectStore.prototype, name).mockImplementation(function (this: IDBObjectStore, ...args: unknown[]) {
      const struck = made === which;
      made += 1;
      if (struck && trouble === 'refused-for-space') throw new DOMException('Got no space.', 'QuotaExceededError');
      const request = original.apply(this, args);
      if (struck && trouble === 'interrupted') this.transaction.abort();
      if (struck && trouble === 'aborted-for-space') abortForSpace(this.transaction);
      return request as never;
    });
  }
  return () => made;
}

/** Every connection that is opened from now on. */
export function watchConnections(): readonly IDBDatabase[] {
  const connections: IDBDatabase[] = [];
  const original = methodOf(IDBFactory.prototype, 'open');
  vi.spyOn(IDBFactory.prototype, 'open').mockImplementation(function (this: IDBFactory, ...args) {
    const request = original.apply(this, args);
    request.addEventListener('success', () => connections.push(request.result));
    return request;
  });
  return connections;
}

/** Ends a connection as a browser does: transactions finish, and the event `close` tells of it. */
export function terminate(connection: IDBDatabase): Promise<void> {
  return new Promise((resolve) => {
    connection.addEventListener('close', () => {
      resolve();
    });
    forceCloseDatabase(connection as unknown as Parameters<typeof forceCloseDatabase>[0]);
  });
}

/** The standard gives a page no way to say why it aborts; the IndexedDB of the tests has one of its own. */
function abortForSpace(transaction: IDBTransaction): void {
  (transaction as unknown as { _abort(name: string): void })._abort('QuotaExceededError');
}
