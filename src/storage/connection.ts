/**
 * One connection to the database, opened when it is needed and again when it was lost, and the only maker of
 * transactions. A body must await nothing but its own transaction's requests, else the browser commits under it.
 * Transactions are begun in the order in which they were asked for.
 */
import type { IDBPTransaction, StoreNames } from 'idb';
import type { Result } from '../core/result/result.js';
import { failure } from '../core/result/result.js';
import type { StorageRefusal } from '../ports/library.js';
import { expectThat } from './library-error.js';
import { openDatabase } from './open-database.js';
import { isLostConnection, transactionRefusal } from './refusals.js';
import type { Database, LibrarySchema } from './schema.js';

export type Transaction<
  Names extends StoreNames<LibrarySchema>[],
  Mode extends IDBTransactionMode = 'readonly',
> = IDBPTransaction<LibrarySchema, Names, Mode>;

type Answer<Value> = Promise<Result<Value, StorageRefusal>>;

export class Connection {
  #opening: Answer<Database> | null = null;
  /** Why it will not open again; null while it may. */
  #ended: 'gave-way' | 'closed' | null = null;

  /** Opens the database now, to learn whether it can be. */
  async open(): Answer<null> {
    const opened = await this.#database();
    return opened.ok ? { ok: true, value: null } : opened;
  }

  /** Runs a body that only reads, over one unchanging state of the stores. */
  read<Names extends StoreNames<LibrarySchema>[], Value>(
    names: [...Names],
    body: (transaction: Transaction<Names>) => Answer<Value>,
  ): Answer<Value> {
    return this.#run(names, 'readonly', body);
  }

  /**
   * Runs a body that writes: all of it is on the disk when this resolves, or nothing of it. What the body throws takes
   * back everything it wrote; so must a body that answers with a refusal have written nothing.
   */
  write<Names extends StoreNames<LibrarySchema>[], Value>(
    names: [...Names],
    body: (transaction: Transaction<Names, 'readwrite'>) => Answer<Value>,
  ): Answer<Value> {
    return this.#run(names, 'readwrite', body);
  }

  /** Ends the connection once the transactions asked for so far are complete. Calls after this are a mistake. */
  close(): void {
    this.#ended = 'closed';
    void this.#opening?.then((opened) => {
      if (opened.ok) opened.value.close();
    });
  }

  async #run<Names extends StoreNames<LibrarySchema>[], Mode extends 'readonly' | 'readwrite', Value>(
    names: [...Names],
    mode: Mode,
    body: (transaction: Transaction<Names, Mode>) => Answer<Value>,
  ): Answer<Value> {
    expectThat(this.#ended !== 'closed', 'Got a call after close when expected none.');
    try {
      const begun = await this.#begin<Names, Mode>(names, mode);
      return begun.ok ? await settle(begun.value, body) : begun;
    } catch (error) {
      return failure(transactionRefusal(error));
    }
  }

  async #begin<Names extends StoreNames<LibrarySchema>[], Mode extends 'readonly' | 'readwrite'>(
    names: Names,
    mode: Mode,
  ): Answer<Transaction<Names, Mode>> {
    const opening = this.#database();
    const opened = await opening;
    if (!opened.ok) return opened;
    try {
      return { ok: true, value: opened.value.transaction(names, mode, { durability: 'strict' }) };
    } catch (error) {
      if (!isLostConnection(error)) throw error;
    }
    // Lost without a word. Another call may have seen it first and be opening it again already.
    this.#forget(opening);
    const again = await this.#database();
    if (!again.ok) return again;
    return { ok: true, value: again.value.transaction(names, mode, { durability: 'strict' }) };
  }

  #database(): Answer<Database> {
    if (this.#ended === 'gave-way') return Promise.resolve(failure('storage-blocked'));
    if (this.#opening !== null) return this.#opening;
    const opening = openDatabase({
      gaveWay: () => {
        this.#ended ??= 'gave-way';
      },
      terminated: () => {
        this.#forget(opening);
      },
    });
    this.#opening = opening;
    // A refusal is not remembered: the next call tries again.
    void opening.then((opened) => {
      if (!opened.ok) this.#forget(opening);
    });
    return opening;
  }

  #forget(opening: Answer<Database>): void {
    if (this.#opening === opening) this.#opening = null;
  }
}

async function settle<Names extends StoreNames<LibrarySchema>[], Mode extends 'readonly' | 'readwrite', Value>(
  transaction: Transaction<Names, Mode>,
  body: (transaction: Transaction<Names, Mode>) => Answer<Value>,
): Answer<Value> {
  // Failures are heard below; this keeps one that comes before then from counting as unheard.
  transaction.done.catch(() => undefined);
  try {
    const answer = await body(transaction);
    await transaction.done;
    return answer;
  } catch (error) {
    abort(transaction);
    // Requests of an aborted transaction only say that it was; the transaction says why.
    throw error instanceof DOMException ? (transaction.error ?? error) : error;
  }
}

function abort(transaction: { abort(): void }): void {
  try {
    transaction.abort();
  } catch (error) {
    // It has ended by itself.
    if (!isLostConnection(error)) throw error;
  }
}
