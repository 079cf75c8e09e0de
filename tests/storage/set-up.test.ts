import { beforeEach, expect, test } from 'vitest';
import { freshBrowser, tamper } from './support/database.js';
import { openedLibrary, valueOf } from './support/given.js';
import { chosen } from './support/set-up-contract.js';

beforeEach(freshBrowser);

test('what was chosen is there after a reload', async () => {
  const library = await openedLibrary();
  await valueOf(library.keepSetUp(chosen));
  library.close();
  expect(await valueOf((await openedLibrary()).setUp())).toEqual(chosen);
});

test.each([
  ['something else', { id: 'this machine', pace: 'andante' }],
  ['a rate that is none', { ...chosen, id: 'this machine', roundTrips: [{ ...chosen.roundTrips[0], sampleRate: 0 }] }],
  ['a reference by no side', { ...chosen, id: 'this machine', reference: { side: 'up', channel: 1 } }],
  ['half a frame', { ...chosen, id: 'this machine', roundTrips: [{ ...chosen.roundTrips[0], frames: 0.5 }] }],
])('a set-up with %s in it is that of a new machine, and can be made again', async (_what, row) => {
  const library = await openedLibrary();
  await tamper((store) => store('set-up').put(row));
  expect(await valueOf(library.setUp())).toMatchObject({ inputId: null, pace: 'steady', roundTrips: [] });
  await valueOf(library.keepSetUp(chosen));
  expect(await valueOf(library.setUp())).toEqual(chosen);
});
