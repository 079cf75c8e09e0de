/** From what the browser throws to the closed list of the port. The words for each reason live in the user interface. */
import type { StorageRefusal } from '../ports/library.js';

/** Names of DOMException (Web IDL; Indexed Database API 3.0), while a database is being opened. */
const WHEN_OPENING: ReadonlyMap<string, StorageRefusal> = new Map([
  ['QuotaExceededError', 'storage-full'],
  ['VersionError', 'newer-version'],
  ['SecurityError', 'storage-refused'],
  ['NotAllowedError', 'storage-refused'],
  ['InvalidStateError', 'storage-refused'],
  ['UnknownError', 'storage-refused'],
]);

/** The same names, once it is open. */
const WHEN_OPEN: ReadonlyMap<string, StorageRefusal> = new Map([
  ['QuotaExceededError', 'storage-full'],
  ['VersionError', 'newer-version'],
  ['SecurityError', 'storage-refused'],
  ['NotAllowedError', 'storage-refused'],
]);

/** What the browser says of a wrong use of it: a programmer's mistake. */
const MISTAKES: ReadonlySet<string> = new Set([
  'DataError',
  'DataCloneError',
  'InvalidAccessError',
  'ReadOnlyError',
  'SyntaxError',
]);

/** Why the database could not be opened. @throws what is no report of the browser's. */
export function openingRefusal(error: unknown): StorageRefusal {
  return WHEN_OPENING.get(reportOf(error).name) ?? 'storage-failed';
}

/** Why a transaction failed. @throws what is no report of the browser's: a programmer's mistake. */
export function transactionRefusal(error: unknown): StorageRefusal {
  return WHEN_OPEN.get(reportOf(error).name) ?? 'storage-failed';
}

/** Whether a connection is no longer good for transactions: it is closing or closed, announced or not. */
export function isLostConnection(error: unknown): boolean {
  return error instanceof DOMException && error.name === 'InvalidStateError';
}

function reportOf(error: unknown): DOMException {
  if (error instanceof DOMException && !MISTAKES.has(error.name)) return error;
  throw error;
}
