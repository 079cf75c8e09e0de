/** What the rehearsal may count on from any library's songs. */
import { beforeEach, describe, expect, test } from 'vitest';
import { asId, type SongId } from '../../../src/core/song/ids.js';
import type { Song } from '../../../src/core/song/song.js';
import { bpm } from '../../../src/core/units/index.js';
import type { Library } from '../../../src/ports/library.js';
import { LibraryError } from '../../../src/storage/library-error.js';
import { AT, ferry, songNamed, tempoEdit, valueOf } from './given.js';

const DONE = { ok: true, value: null };
const NOT_THERE = { ok: false, reason: 'storage-failed' };

/** Describes the songs of a library; `open` gives an empty one every time. */
export function describeSongs(name: string, open: () => Promise<Library>): void {
  describe(`${name}: songs`, () => {
    let library: Library;
    beforeEach(async () => {
      library = await open();
    });

    const journal = async (count: number): Promise<void> => {
      await library.createSong(ferry, AT);
      for (let seq = 1; seq <= count; seq++) await library.appendEdit(ferry.id, tempoEdit(seq));
    };
    const latest = () => valueOf(library.latestSong());
    test('there is none in an empty library', async () => {
      expect(await library.latestSong()).toEqual({ ok: true, value: null });
    });

    test('a new song is there as it was made, without edits', async () => {
      expect(await library.createSong(ferry, AT)).toEqual(DONE);
      expect(await latest()).toEqual({ base: ferry, edits: [], cursor: 0 });
    });

    test('edits are there in order, and all hold', async () => {
      await journal(12);
      expect(await latest()).toEqual({
        base: ferry,
        edits: Array.from({ length: 12 }, (_, index) => tempoEdit(index + 1)),
        cursor: 12,
      });
    });

    test('an edit that is there already, and a cursor that stands there, are no harm', async () => {
      await journal(2);
      expect(await library.appendEdit(ferry.id, tempoEdit(2))).toEqual(DONE);
      expect(await latest()).toEqual({ base: ferry, edits: [tempoEdit(1), tempoEdit(2)], cursor: 2 });
      expect(await library.moveCursor(ferry.id, 1)).toEqual(DONE);
      expect(await library.moveCursor(ferry.id, 1)).toEqual(DONE);
      expect((await latest())?.cursor).toBe(1);
    });

    test('moving the cursor keeps the edits beyond it', async () => {
      await journal(3);
      expect(await library.moveCursor(ferry.id, 1)).toEqual(DONE);
      expect(await latest()).toEqual({ base: ferry, edits: [tempoEdit(1), tempoEdit(2), tempoEdit(3)], cursor: 1 });
    });

    test('a new edit drops the journal from its own number on', async () => {
      await journal(4);
      await library.moveCursor(ferry.id, 1);
      expect(await library.appendEdit(ferry.id, tempoEdit(2, 200))).toEqual(DONE);
      expect(await latest()).toEqual({ base: ferry, edits: [tempoEdit(1), tempoEdit(2, 200)], cursor: 2 });
    });

    test('edits of one song leave the others alone', async () => {
      await journal(3);
      await library.createSong(songNamed('pier'), AT);
      await library.appendEdit(asId<SongId>('pier'), tempoEdit(1, 200));
      await library.appendEdit(ferry.id, tempoEdit(2, 300));
      expect((await latest())?.edits).toEqual([tempoEdit(1), tempoEdit(2, 300)]);
      await library.moveCursor(asId<SongId>('pier'), 0);
      expect((await latest())?.edits).toEqual([tempoEdit(1, 200)]);
    });

    test.each<[string, (library: Library) => Promise<unknown>]>([
      ['made', () => Promise.resolve()],
      ['edited', (held) => held.appendEdit(asId<SongId>('pier'), tempoEdit(1))],
      ['taken back in', (held) => held.moveCursor(asId<SongId>('pier'), 0)],
    ])('the latest is the one %s last, whatever the clock says', async (_, touch) => {
      const made = [songNamed('pier'), songNamed('ferry'), songNamed('tide')];
      for (const [index, song] of made.entries()) await library.createSong(song, `203${9 - index}-01-01T00:00:00.000Z`);
      expect((await latest())?.base.id).toBe('tide');
      const before = await touch(library);
      expect((await latest())?.base.id).toBe(before === undefined ? 'tide' : 'pier');
    });

    test('of calls made at once, each finds the ones before it done', async () => {
      const results = await Promise.all([
        library.createSong(ferry, AT),
        library.appendEdit(ferry.id, tempoEdit(1)),
        library.appendEdit(ferry.id, tempoEdit(2)),
        library.moveCursor(ferry.id, 1),
      ]);
      expect(results).toEqual([DONE, DONE, DONE, DONE]);
      expect(await latest()).toEqual({ base: ferry, edits: [tempoEdit(1), tempoEdit(2)], cursor: 1 });
    });

    test('a song that is not there cannot be edited', async () => {
      expect(await library.appendEdit(ferry.id, tempoEdit(1))).toEqual(NOT_THERE);
      expect(await library.moveCursor(ferry.id, 0)).toEqual(NOT_THERE);
    });

    test.each<[string, (library: Library) => Promise<unknown>]>([
      ['a song that is there already', (held) => held.createSong(ferry, AT)],
      ['a song that could not be opened again', (held) => held.createSong({ ...songNamed('x'), sections: [] }, AT)],
      ['a song of another form', (held) => held.createSong({ ...songNamed('x'), more: 1 } as Song, AT)],
      ['an edit that leaves a hole', (held) => held.appendEdit(ferry.id, tempoEdit(4))],
      ['an edit before the first', (held) => held.appendEdit(ferry.id, tempoEdit(0))],
      ['an edit between two others', (held) => held.appendEdit(ferry.id, tempoEdit(1.5))],
      [
        'an edit of another form',
        (held) =>
          held.appendEdit(ferry.id, { ...tempoEdit(3), edit: { type: 'set-tempo', bpm: bpm(90), more: 1 } as never }),
      ],
      ['a cursor before the first edit', (held) => held.moveCursor(ferry.id, -1)],
      ['a cursor beyond the last edit', (held) => held.moveCursor(ferry.id, 3)],
      ['a cursor between two edits', (held) => held.moveCursor(ferry.id, 0.5)],
    ])('a mistake of the program throws and changes nothing: %s', async (_, mistake) => {
      await journal(2);
      const before = await latest();
      await expect(mistake(library)).rejects.toThrow(LibraryError);
      expect(await latest()).toEqual(before);
    });
  });
}
