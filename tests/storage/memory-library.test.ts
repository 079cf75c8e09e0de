import { expect, test } from 'vitest';
import { openMemoryLibrary } from '../../src/storage/memory-library.js';
import { describeLibrary } from './support/library-contract.js';

describeLibrary('the library in memory', () => Promise.resolve(openMemoryLibrary()));

test('the library in memory never claims to last', async () => {
  const library = openMemoryLibrary();
  expect(await library.isPersistent()).toBe(false);
  expect(await library.requestPersistence()).toBe(false);
});
