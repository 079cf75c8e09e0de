/** Histories made at random: every edit in them applies, and some were taken back. */
import fc from 'fast-check';
import type { JournalledEdit, StoredHistory } from '../../../src/core/history/history.js';
import { applyEdit } from '../../../src/core/song/apply-edit.js';
import { editMakers, songs } from '../song/arbitraries.js';

export const AT = '2031-05-04T19:30:00.000Z';

export const storedHistories: fc.Arbitrary<StoredHistory> = fc
  .tuple(songs, fc.array(editMakers, { maxLength: 25 }), fc.nat())
  .map(([base, makers, back]) => {
    const edits: JournalledEdit[] = [];
    let song = base;
    for (const [index, make] of makers.entries()) {
      const edit = make(song, index);
      const after = applyEdit(song, edit);
      if (!after.ok || after.value === song) continue;
      song = after.value;
      edits.push({ seq: edits.length + 1, edit, at: AT });
    }
    return { base, edits, cursor: back % (edits.length + 1) };
  });
