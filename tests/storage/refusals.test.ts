import { describe, expect, test } from 'vitest';
import { LibraryError } from '../../src/storage/library-error.js';
import { openingRefusal, transactionRefusal } from '../../src/storage/refusals.js';

const report = (name: string): DOMException => new DOMException('', name);

/** Names of exceptions: Indexed Database API 3.0 and Web IDL. */
describe('what the browser reports becomes a reason of the closed list', () => {
  test.each([
    ['QuotaExceededError', 'storage-full', 'storage-full'],
    ['VersionError', 'newer-version', 'newer-version'],
    ['SecurityError', 'storage-refused', 'storage-refused'],
    ['NotAllowedError', 'storage-refused', 'storage-refused'],
    ['InvalidStateError', 'storage-refused', 'storage-failed'],
    ['UnknownError', 'storage-refused', 'storage-failed'],
    ['AbortError', 'storage-failed', 'storage-failed'],
    ['NotFoundError', 'storage-failed', 'storage-failed'],
    ['NotReadableError', 'storage-failed', 'storage-failed'],
    ['TimeoutError', 'storage-failed', 'storage-failed'],
    ['TransactionInactiveError', 'storage-failed', 'storage-failed'],
  ])('%s', (name, opening, open) => {
    expect(openingRefusal(report(name))).toBe(opening);
    expect(transactionRefusal(report(name))).toBe(open);
  });

  test.each([
    report('DataError'),
    report('DataCloneError'),
    report('InvalidAccessError'),
    report('ReadOnlyError'),
    report('SyntaxError'),
    new TypeError('x'),
    new LibraryError('x'),
    'text',
  ])('but a mistake of the program stays one: %s', (mistake) => {
    for (const refusal of [openingRefusal, transactionRefusal]) {
      let thrown: unknown = null;
      try {
        refusal(mistake);
      } catch (error) {
        thrown = error;
      }
      expect(thrown).toBe(mistake);
    }
  });
});
