/** The part of the library's contract that is about the machine and not about songs. */
import { describe, expect, test } from 'vitest';
import { frames } from '../../../src/core/units/index.js';
import type { Library, SetUp } from '../../../src/ports/library.js';
import { AT, ferry, valueOf } from './given.js';

export const chosen: SetUp = {
  inputId: 'the pier’s interface',
  outputId: null,
  pace: 'quick',
  roundTrips: [
    {
      inputId: 'the pier’s interface',
      outputId: null,
      sampleRate: ferry.sampleRate,
      pace: 'quick',
      frames: frames(4928),
      how: 'cable',
      at: AT,
    },
  ],
};

export function describeSetUp(name: string, open: () => Promise<Library>): void {
  describe(`the set-up in ${name}`, () => {
    test('is that of a new machine until something is kept', async () => {
      const library = await open();
      expect(await valueOf(library.setUp())).toEqual({ inputId: null, outputId: null, pace: 'steady', roundTrips: [] });
    });

    test('is what was kept last', async () => {
      const library = await open();
      await valueOf(library.keepSetUp({ ...chosen, pace: 'steady' }));
      await valueOf(library.keepSetUp(chosen));
      expect(await valueOf(library.setUp())).toEqual(chosen);
    });

    test('knows of a reference cable where there is one, and of none where it was let be', async () => {
      const library = await open();
      const cabled: SetUp = { ...chosen, reference: { side: 'left', channel: 1 } };
      await valueOf(library.keepSetUp(cabled));
      expect(await valueOf(library.setUp())).toEqual(cabled);
      await valueOf(library.keepSetUp(chosen));
      expect(await valueOf(library.setUp())).toEqual(chosen);
    });

    test('leaves the songs alone', async () => {
      const library = await open();
      await valueOf(library.createSong(ferry, AT));
      await valueOf(library.keepSetUp(chosen));
      expect((await valueOf(library.latestSong()))?.base).toEqual(ferry);
    });
  });
}
