/** An IndexedDB in memory for each test, and ways to look at it that do not go through the code under test. */
import 'fake-indexeddb/auto';
import { IDBFactory } from 'fake-indexeddb';

const DATABASE = 'manyhand';

/** Forgets every database: what a browser is like where the program was never opened. */
export function freshBrowser(): void {
  globalThis.indexedDB = new IDBFactory();
}

/** Opens a database plainly, making its stores with `upgrade` where the version is higher than what is there. */
export function openPlainly(version?: number, upgrade?: (database: IDBDatabase) => void): Promise<IDBDatabase> {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open(DATABASE, version);
    request.onupgradeneeded = () => upgrade?.(request.result);
    request.onsuccess = () => {
      resolve(request.result);
    };
    request.onerror = () => {
      reject(request.error ?? new Error('Got no database.'));
    };
  });
}

/** Runs `work` in one transaction over every store and waits until it is complete. */
export async function tamper(work: (store: (name: string) => IDBObjectStore) => void): Promise<void> {
  const database = await openPlainly();
  await new Promise<void>((resolve, reject) => {
    const transaction = database.transaction([...database.objectStoreNames], 'readwrite');
    transaction.oncomplete = () => {
      resolve();
    };
    transaction.onabort = () => {
      reject(transaction.error ?? new Error('Got an aborted transaction.'));
    };
    work((name) => transaction.objectStore(name));
  });
  database.close();
}

export interface StoreDump {
  readonly name: string;
  readonly keyPath: string | string[];
  readonly indexes: readonly { readonly name: string; readonly keyPath: string | string[]; readonly unique: boolean }[];
  /** Buffers as { base64 }. */
  readonly rows: readonly unknown[];
}

export interface DatabaseDump {
  readonly version: number;
  readonly stores: readonly StoreDump[];
}

/** All that the database holds, as plain JSON. */
export async function dump(): Promise<DatabaseDump> {
  const database = await openPlainly();
  const transaction = database.transaction([...database.objectStoreNames]);
  const stores = await Promise.all(
    [...database.objectStoreNames].map((name) => dumpStore(transaction.objectStore(name))),
  );
  database.close();
  return { version: database.version, stores };
}

/** Makes the database that was dumped, in a fresh browser, from what the dump says alone. */
export async function restore({ version, stores }: DatabaseDump): Promise<void> {
  freshBrowser();
  const database = await openPlainly(version, (made) => {
    for (const { name, keyPath, indexes } of stores) {
      const store = made.createObjectStore(name, { keyPath });
      indexes.forEach((index) => store.createIndex(index.name, index.keyPath, { unique: index.unique }));
    }
  });
  database.close();
  await tamper((store) => {
    for (const { name, rows } of stores) rows.forEach((row) => store(name).put(unpacked(row)));
  });
}

async function dumpStore(store: IDBObjectStore): Promise<StoreDump> {
  const rows = await new Promise<unknown[]>((resolve, reject) => {
    const request: IDBRequest<unknown[]> = store.getAll();
    request.onsuccess = () => {
      resolve(request.result);
    };
    request.onerror = () => {
      reject(request.error ?? new Error('Got no rows.'));
    };
  });
  const indexes = [...store.indexNames].map((name) => {
    const { keyPath, unique } = store.index(name);
    return { name, keyPath, unique };
  });
  return { name: store.name, keyPath: store.keyPath ?? '', indexes, rows: rows.map(packed) };
}

function packed(value: unknown): unknown {
  if (value instanceof ArrayBuffer) return { base64: Buffer.from(value).toString('base64') };
  return overEntries(value, packed);
}

function unpacked(value: unknown): unknown {
  if (typeof value === 'object' && value !== null && 'base64' in value) {
    return Uint8Array.from(Buffer.from(String(value.base64), 'base64')).buffer;
  }
  return overEntries(value, unpacked);
}

function overEntries(value: unknown, change: (value: unknown) => unknown): unknown {
  if (Array.isArray(value)) return value.map(change);
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(Object.entries(value).map(([key, each]) => [key, change(each)]));
}
