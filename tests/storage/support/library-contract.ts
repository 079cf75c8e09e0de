/** What the rehearsal may count on from any library. Run on the one on the disk and on the one in memory alike. */
import { expect, test } from 'vitest';
import { frames } from '../../../src/core/units/index.js';
import type { Library } from '../../../src/ports/library.js';
import { LibraryError } from '../../../src/storage/library-error.js';
import { AT, chunk, ferry, recordingId } from './given.js';
import { describeRecordings } from './recordings-contract.js';
import { describeSetUp } from './set-up-contract.js';
import { describeSongs } from './songs-contract.js';

/** Describes a library; `open` gives an empty one every time. */
export function describeLibrary(name: string, open: () => Promise<Library>): void {
  describeSongs(name, open);
  describeRecordings(name, open);
  describeSetUp(name, open);

  test(`${name} is not called again once it was closed`, async () => {
    const library = await open();
    library.close();
    await expect(library.latestSong()).rejects.toThrow(LibraryError);
    await expect(library.createSong(ferry, AT)).rejects.toThrow(LibraryError);
    await expect(library.appendChunk(chunk(0, 0, 10))).rejects.toThrow(LibraryError);
    await expect(library.readRecording(recordingId, 0, frames(0), frames(1))).rejects.toThrow(LibraryError);
  });
}
