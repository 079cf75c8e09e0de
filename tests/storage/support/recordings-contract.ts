/** What the rehearsal may count on from any library's recordings. */
import fc from 'fast-check';
import { beforeEach, describe, expect, test } from 'vitest';
import { asId } from '../../../src/core/song/ids.js';
import { frames } from '../../../src/core/units/index.js';
import type { Library, RecordingChunk } from '../../../src/ports/library.js';
import { LibraryError } from '../../../src/storage/library-error.js';
import { chunk, HALF_A_SECOND, header, recordingId, sampleAt, valueOf } from './given.js';

const DONE = { ok: true, value: null };
const NOT_THERE = { ok: false, reason: 'storage-failed' };

const silent = (given: RecordingChunk): RecordingChunk => ({
  ...given,
  audio: given.audio.map((channel) => new Float32Array(channel.length)),
});

/** Describes the recordings of a library; `open` gives an empty one every time. */
export function describeRecordings(name: string, open: () => Promise<Library>): void {
  describe(`${name}: recordings`, () => {
    let library: Library;
    beforeEach(async () => {
      library = await open();
    });

    const samples = async (channel: number, start: number, count: number): Promise<number[]> =>
      Array.from((await valueOf(library.readRecording(recordingId, channel, frames(start), frames(count)))).samples);
    const missing = async (start: number, count: number): Promise<number> =>
      (await valueOf(library.readRecording(recordingId, 0, frames(start), frames(count)))).missing;

    test('every frame of every channel comes back', async () => {
      await library.beginRecording(header(3));
      expect(await library.appendChunk(chunk(0, 0, 500, 3))).toEqual(DONE);
      expect(await library.appendChunk(chunk(1, 500, 1, 3))).toEqual(DONE);
      expect(await library.appendChunk(chunk(2, 501, 300, 3))).toEqual(DONE);
      expect(await library.finishRecording(recordingId, frames(801))).toEqual(DONE);
      for (const channel of [0, 1, 2]) {
        expect(await samples(channel, 0, 801)).toEqual(
          Array.from({ length: 801 }, (_, index) => sampleAt(channel, index)),
        );
      }
      expect(await missing(0, 801)).toBe(0);
    });

    test('a recording that was never finished gives what it has', async () => {
      await library.beginRecording(header());
      await library.appendChunk(chunk(0, 0, 200));
      expect(await samples(1, 100, 3)).toEqual([sampleAt(1, 100), sampleAt(1, 101), sampleAt(1, 102)]);
      expect(await missing(0, 300)).toBe(100);
    });

    test.each<[string, number, number, number]>([
      ['before the first', -10, 5, 5],
      ['across the first', -3, 5, 3],
      ['across a hole', 95, 20, 10],
      ['inside a hole', 102, 5, 5],
      ['from a hole on', 105, 10, 5],
      ['across the last', 205, 10, 5],
      ['beyond the last', 300, 10, 10],
      ['all there is and more', -100, 1000, 800],
      ['none', 50, 0, 0],
    ])('frames that were never recorded are zeros and counted: %s', async (_, start, count, gone) => {
      await library.beginRecording(header());
      await library.appendChunk(chunk(0, 0, 100));
      await library.appendChunk(chunk(1, 110, 100));
      const there = (frame: number) => (frame >= 0 && frame < 100) || (frame >= 110 && frame < 210);
      expect(await samples(0, start, count)).toEqual(
        Array.from({ length: count }, (_sample, index) => (there(start + index) ? sampleAt(0, start + index) : 0)),
      );
      expect(await missing(start, count)).toBe(gone);
    });

    test('any range of any journal is what was recorded there', async () => {
      const pieces = fc.array(fc.tuple(fc.nat({ max: 20 }), fc.integer({ min: 1, max: 40 })), { maxLength: 8 });
      await fc.assert(
        fc.asyncProperty(
          pieces,
          fc.integer({ min: -50, max: 400 }),
          fc.nat({ max: 300 }),
          async (gaps, start, count) => {
            library = await open();
            await library.beginRecording(header());
            const there = new Map<number, number>();
            let end = 0;
            for (const [seq, [gap, length]] of gaps.entries()) {
              await library.appendChunk(chunk(seq, end + gap, length));
              for (let frame = end + gap; frame < end + gap + length; frame++) there.set(frame, sampleAt(1, frame));
              end += gap + length;
            }
            const expected = Array.from({ length: count }, (_, index) => there.get(start + index) ?? 0);
            expect(await samples(1, start, count)).toEqual(expected);
            expect(await missing(start, count)).toBe(expected.filter((sample) => sample === 0).length);
          },
        ),
        { numRuns: 60 },
      );
    });

    test('of a recording that is not there all frames are missing', async () => {
      expect(await samples(0, 0, 3)).toEqual([0, 0, 0]);
      expect(await missing(0, 3)).toBe(3);
    });

    test('recordings leave each other alone', async () => {
      const other = asId<typeof recordingId>('recording-10');
      await library.beginRecording(header());
      await library.beginRecording(header(1, other));
      await library.appendChunk(chunk(0, 5, 10));
      await library.appendChunk(chunk(0, 0, 20, 1, other));
      await library.appendChunk(chunk(1, 15, 10));
      expect(await missing(0, 30)).toBe(10);
      expect((await valueOf(library.readRecording(other, 0, frames(0), frames(30)))).missing).toBe(10);
    });

    test('the arrays of a chunk are the caller’s again as soon as the call has returned', async () => {
      await library.beginRecording(header(1));
      const lent = chunk(0, 0, 4, 1);
      const done = library.appendChunk(lent);
      lent.audio.forEach((channel) => channel.fill(0));
      await done;
      expect(await samples(0, 0, 4)).toEqual([0, 1, 2, 3].map((frame) => sampleAt(0, frame)));
    });

    test('what was read is the reader’s own', async () => {
      await library.beginRecording(header(1));
      await library.appendChunk(chunk(0, 0, 4, 1));
      (await valueOf(library.readRecording(recordingId, 0, frames(0), frames(4)))).samples.fill(0);
      expect(await samples(0, 0, 4)).toEqual([0, 1, 2, 3].map((frame) => sampleAt(0, frame)));
    });

    test('a chunk of exactly half a second is not too long', async () => {
      await library.beginRecording(header());
      expect(await library.appendChunk(chunk(0, 0, HALF_A_SECOND))).toEqual(DONE);
    });

    // An answer can be lost after the disk has it: whoever waits for it tries again.
    test('what is there already, in the same form, is no harm: each write twice', async () => {
      const twice = async (write: () => Promise<unknown>): Promise<void> => {
        expect([await write(), await write()]).toEqual([DONE, DONE]);
      };
      await twice(() => library.beginRecording(header()));
      await twice(() => library.appendChunk(chunk(0, 0, 100)));
      await twice(() => library.appendChunk(chunk(1, 110, 100)));
      await twice(() => library.finishRecording(recordingId, frames(230)));
      expect(await missing(0, 230)).toBe(30);
      expect(await samples(1, 108, 4)).toEqual([0, 0, sampleAt(1, 110), sampleAt(1, 111)]);
    });

    test('what is there already is no harm later either, and opens nothing again', async () => {
      await library.beginRecording(header());
      await library.appendChunk(chunk(0, 0, 100));
      await library.appendChunk(chunk(1, 100, 100));
      await library.finishRecording(recordingId, frames(200));
      expect(await library.appendChunk(chunk(0, 0, 100))).toEqual(DONE);
      expect(await library.beginRecording(header())).toEqual(DONE);
      await expect(library.appendChunk(chunk(2, 200, 100))).rejects.toThrow(LibraryError);
      expect(await missing(0, 200)).toBe(0);
    });

    test('samples that are no numbers are the same samples when they come again', async () => {
      await library.beginRecording(header(1));
      const odd = { ...chunk(0, 0, 1, 1), audio: [Float32Array.of(NaN, -0, Infinity)] };
      expect(await library.appendChunk(odd)).toEqual(DONE);
      expect(await library.appendChunk(odd)).toEqual(DONE);
    });

    test('finishing twice alike is no harm, and frames lost at the end may be counted in', async () => {
      await library.beginRecording(header());
      await library.appendChunk(chunk(0, 0, 100));
      expect(await library.finishRecording(recordingId, frames(120))).toEqual(DONE);
      expect(await library.finishRecording(recordingId, frames(120))).toEqual(DONE);
    });

    test('a recording that is not there cannot go on', async () => {
      expect(await library.appendChunk(chunk(0, 0, 10))).toEqual(NOT_THERE);
      expect(await library.finishRecording(recordingId, frames(10))).toEqual(NOT_THERE);
    });

    test.each<[string, (library: Library) => Promise<unknown>]>([
      ['another recording of the same identity', (held) => held.beginRecording(header(1))],
      ['the same recording, begun at another time', (held) => held.beginRecording({ ...header(), startedAt: '' })],
      ['a chunk that is there, of other samples', (held) => held.appendChunk(silent(chunk(0, 0, 100)))],
      ['a chunk that is there, but shorter', (held) => held.appendChunk(chunk(0, 0, 99))],
      ['a chunk that is there, but later', (held) => held.appendChunk({ ...chunk(0, 0, 100), start: frames(1) })],
      ['a chunk that is there, of fewer channels', (held) => held.appendChunk(chunk(0, 0, 100, 1))],
      ['a chunk before the first', (held) => held.appendChunk(chunk(-1, 0, 100))],
      ['a recording without channels', (held) => held.beginRecording(header(0, asId('x')))],
      ['a recording of half a channel', (held) => held.beginRecording(header(0.5, asId('x')))],
      ['a chunk that leaves a hole in the count', (held) => held.appendChunk(chunk(2, 100, 10))],
      ['a chunk that came before', (held) => held.appendChunk(chunk(0, 100, 10))],
      ['a chunk over frames that are there', (held) => held.appendChunk(chunk(1, 99, 10))],
      ['a chunk of more than half a second', (held) => held.appendChunk(chunk(1, 100, HALF_A_SECOND + 1))],
      ['a chunk of fewer channels', (held) => held.appendChunk(chunk(1, 100, 10, 1))],
      ['a chunk without channels', (held) => held.appendChunk(chunk(1, 100, 10, 0))],
      ['a chunk without frames', (held) => held.appendChunk(chunk(1, 100, 0))],
      [
        'a chunk of unequal channels',
        (held) => held.appendChunk({ ...chunk(1, 100, 0), audio: [new Float32Array(10), new Float32Array(11)] }),
      ],
      ['a length that cuts frames off', (held) => held.finishRecording(recordingId, frames(99))],
      ['a channel beyond the last', (held) => held.readRecording(recordingId, 2, frames(0), frames(1))],
      ['a channel before the first', (held) => held.readRecording(recordingId, -1, frames(0), frames(1))],
      ['fewer frames than none', (held) => held.readRecording(recordingId, 0, frames(0), frames(-1))],
    ])('a mistake of the program throws and changes nothing: %s', async (_, mistake) => {
      await library.beginRecording(header());
      await library.appendChunk(chunk(0, 0, 100));
      await expect(mistake(library)).rejects.toThrow(LibraryError);
      expect(await missing(0, 200)).toBe(100);
      expect(await library.appendChunk(chunk(1, 100, 100))).toEqual(DONE);
      expect(await missing(0, 200)).toBe(0);
    });

    test.each<[string, (library: Library) => Promise<unknown>]>([
      ['a chunk', (held) => held.appendChunk(chunk(1, 100, 10))],
      ['another length', (held) => held.finishRecording(recordingId, frames(101))],
    ])('a finished recording takes no more: %s', async (_, mistake) => {
      await library.beginRecording(header());
      await library.appendChunk(chunk(0, 0, 100));
      await library.finishRecording(recordingId, frames(100));
      await expect(mistake(library)).rejects.toThrow(LibraryError);
      expect(await missing(0, 200)).toBe(100);
    });
  });
}
