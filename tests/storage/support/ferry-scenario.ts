/** What a player does in one sitting, step by step through the library: the content of the fixture of each version. */
import type { StoredHistory } from '../../../src/core/history/history.js';
import { asId, type RecordingId } from '../../../src/core/song/ids.js';
import { frames } from '../../../src/core/units/index.js';
import type { Library } from '../../../src/ports/library.js';
import { AT, chunk, header, songNamed } from './given.js';
import { chosen } from './set-up-contract.js';
import { wholeDocument } from './whole-document.js';

export const finished = asId<RecordingId>('recording-oars');
export const unfinished = asId<RecordingId>('recording-bell');

/** An older song, the whole document of every kind of edit with one edit taken back, and two recordings, one unfinished; and what was chosen on the machine. */
export async function playFerryScenario(library: Library): Promise<StoredHistory> {
  await library.createSong(songNamed('pier'), AT);
  await library.createSong(wholeDocument.base, AT);
  await library.beginRecording(header(2, finished));
  await library.appendChunk(chunk(0, 0, 12, 2, finished));
  await library.appendChunk(chunk(1, 12, 4, 2, finished));
  await library.finishRecording(finished, frames(16));
  for (const edit of wholeDocument.edits) await library.appendEdit(wholeDocument.base.id, edit);
  await library.moveCursor(wholeDocument.base.id, wholeDocument.cursor);
  await library.beginRecording(header(1, unfinished));
  await library.appendChunk(chunk(0, 0, 8, 1, unfinished));
  await library.keepSetUp(chosen);
  return wholeDocument;
}
