/**
 * One window at a time holds the library (Web Locks API): two that write one journal would each drop the other's edits.
 * The browser lets go of the lock for a page that closes, reloads or crashes.
 */

/** As much of the browser's lock manager as is needed. */
export type Locks = Pick<LockManager, 'request'>;

export interface HeldLock {
  release(): void;
}

export const LOCK_NAME = 'manyhand library';

/** A window that is being closed holds its lock a moment longer than it is seen: long enough, and short enough to wait. */
const PATIENCE_MS = 1000;

/** Where there are no locks, or they fail for another reason than a holder: nothing to hold, and nothing in the way. */
const UNLOCKED: HeldLock = { release: () => undefined };

/** The locks of this page; null in a browser, or a window, that has none. */
export function locksOfThisPage(): Locks | null {
  const page: { readonly navigator?: { readonly locks?: LockManager } } = globalThis;
  return page.navigator?.locks ?? null;
}

/** Takes the lock, to be held until it is released or the page ends. Null where another window holds it. */
export async function takeLock(locks: Locks | null): Promise<HeldLock | null> {
  if (locks === null) return UNLOCKED;
  const patience = new AbortController();
  const timer = setTimeout(() => {
    patience.abort();
  }, PATIENCE_MS);
  try {
    return await heldLock(locks, patience.signal);
  } catch {
    return patience.signal.aborted ? null : UNLOCKED;
  } finally {
    clearTimeout(timer);
  }
}

function heldLock(locks: Locks, signal: AbortSignal): Promise<HeldLock> {
  return new Promise((resolve, reject) => {
    const asked = locks.request(LOCK_NAME, { mode: 'exclusive', signal }, () => {
      // The lock is held until this promise ends.
      return new Promise<void>((release) => {
        resolve({ release });
      });
    });
    asked.catch(reject);
  });
}
