/**
 * A database of every version that ever was must open for ever. A fixture is written once, by the program of its
 * version (WRITE_FIXTURE=1 npx vitest run tests/storage/fixtures.test.ts), and never again.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import { beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { frames } from '../../src/core/units/index.js';
import { DATABASE_VERSION } from '../../src/storage/schema.js';
import { type DatabaseDump, dump, freshBrowser, restore } from './support/database.js';
import { finished, playFerryScenario, unfinished } from './support/ferry-scenario.js';
import { chunk, openedLibrary, sampleAt, tempoEdit, valueOf } from './support/given.js';
import { wholeDocument } from './support/whole-document.js';

const fixtureOf = (version: number): URL => new URL(`./fixtures/version-${version}.json`, import.meta.url);
const read = (version: number): DatabaseDump => JSON.parse(readFileSync(fixtureOf(version), 'utf8')) as DatabaseDump;

beforeAll(async () => {
  if (process.env['WRITE_FIXTURE'] !== '1') return;
  freshBrowser();
  await playFerryScenario(await openedLibrary());
  // `wx`: a fixture that is there already stays as it is, and this fails.
  writeFileSync(fixtureOf(DATABASE_VERSION), `${JSON.stringify(await dump(), null, 2)}\n`, { flag: 'wx' });
});

test('today’s program still writes what the fixture of its version holds', async () => {
  freshBrowser();
  await playFerryScenario(await openedLibrary());
  expect(await dump()).toEqual(read(DATABASE_VERSION));
});

describe.each(Array.from({ length: DATABASE_VERSION }, (_, index) => index + 1))(
  'a database of version %i',
  (version) => {
    beforeEach(async () => {
      await restore(read(version));
    });

    test('is restored as it was written, or the tests below would test something else', async () => {
      expect(await dump()).toEqual(read(version));
    });

    test('opens with the song that was edited last, its journal and its cursor', async () => {
      expect(await valueOf((await openedLibrary()).latestSong())).toEqual(wholeDocument);
    });

    test('opens with its recordings, the finished and the unfinished', async () => {
      const library = await openedLibrary();
      const oars = await valueOf(library.readRecording(finished, 1, frames(0), frames(16)));
      expect(Array.from(oars.samples)).toEqual(Array.from({ length: 16 }, (_, frame) => sampleAt(1, frame)));
      expect(oars.missing).toBe(0);
      const bell = await valueOf(library.readRecording(unfinished, 0, frames(0), frames(10)));
      expect(Array.from(bell.samples)).toEqual([...Array.from({ length: 8 }, (_, frame) => sampleAt(0, frame)), 0, 0]);
      expect(bell.missing).toBe(2);
    });

    test('can be worked in', async () => {
      const library = await openedLibrary();
      expect(await library.appendEdit(wholeDocument.base.id, tempoEdit(3, 80))).toEqual({ ok: true, value: null });
      expect(await library.appendChunk(chunk(1, 8, 8, 1, unfinished))).toEqual({ ok: true, value: null });
      expect((await valueOf(library.latestSong()))?.edits).toEqual([
        ...wholeDocument.edits.slice(0, 2),
        tempoEdit(3, 80),
      ]);
      expect((await valueOf(library.readRecording(unfinished, 0, frames(0), frames(16)))).missing).toBe(0);
    });
  },
);
