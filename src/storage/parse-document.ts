/** From whatever the disk gave back to a history that holds together, or a reason why not. */
import * as v from 'valibot';
import type { StoredHistory } from '../core/history/history.js';
import { openHistory } from '../core/history/open-history.js';
import type { Result } from '../core/result/result.js';
import { failure, success } from '../core/result/result.js';
import { SONG_SCHEMA } from '../core/song/song.js';
import { journalledEditSchema, songSchema } from './document-schema.js';

export type DocumentRefusal = 'damaged' | 'newer-version';

const historySchema = v.strictObject({
  base: songSchema,
  edits: v.array(journalledEditSchema),
  cursor: v.pipe(v.number(), v.safeInteger()),
});

/** As little of a document as must be the same in every version for ever. */
const versionedSchema = v.looseObject({ base: v.looseObject({ schema: v.pipe(v.number(), v.safeInteger()) }) });

/**
 * A stored history whose journal is known to replay (see openHistory). 'newer-version' for a schema above ours, judged
 * before anything else of it; 'damaged' for all that is not exactly of our form.
 */
export function parseStoredHistory(stored: unknown): Result<StoredHistory, DocumentRefusal> {
  const versioned = v.safeParse(versionedSchema, stored);
  if (versioned.success && isNewer(versioned.output.base.schema)) return failure('newer-version');
  const parsed = v.safeParse(historySchema, stored);
  if (!parsed.success || !openHistory(parsed.output).ok) return failure('damaged');
  return success(parsed.output);
}

/** Whether a document's schema is one that only a newer version of the program can read. */
export function isNewer(schema: number): boolean {
  return schema > SONG_SCHEMA;
}
