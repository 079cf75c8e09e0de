import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Tempo } from '../../../src/core/meter/grid.js';
import type { Metre } from '../../../src/core/meter/metre.js';
import type { Hold } from '../../../src/core/meter/stretch.js';
import { sectionGrid } from '../../../src/core/program/compile.js';
import { applyEdit } from '../../../src/core/song/apply-edit.js';
import type { Edit, EditRefusal } from '../../../src/core/song/edits.js';
import { songFault } from '../../../src/core/song/invariants.js';
import type { SectionStretch } from '../../../src/core/song/section-stretch.js';
import { stretchesOfSection } from '../../../src/core/song/section-time.js';
import type { Section, Song } from '../../../src/core/song/song.js';
import { bars, bpm, frames } from '../../../src/core/units/index.js';
import { stretchTable } from '../../support/stretch-table.js';
import { free, gradual, holdBeats, metre, steady, tempo, untilPressed } from '../meter/given.js';
import { deepFrozen, ferrySong, layerNamed, songs } from './arbitraries.js';

/** 4/4 at 120, so that a bar is 96,000 frames; one section, of so many bars. */
function songOf(length: number | null, stretches: readonly SectionStretch[] = []): Song {
  const song = ferrySong();
  const section = { ...song.sections[0]!, bars: length === null ? null : bars(length), stretches };
  return deepFrozen({ ...song, tempo: { ...song.tempo, bpm: bpm(120) }, sections: [section] });
}
const sectionOf = (song: Song): Section => song.sections[0]!;
const set = (stretches: readonly SectionStretch[]): Edit => ({
  type: 'set-stretches',
  section: sectionOf(songOf(1)).id,
  stretches,
  settles: false,
});

interface Own {
  readonly metre?: Metre;
  readonly tempo?: Tempo;
  readonly holds?: readonly Hold[];
}
const measured = (fromBar: number, own: Own) => ({
  fromBar: bars(fromBar),
  metre: own.metre ?? null,
  tempo: own.tempo ?? null,
  holds: own.holds ?? [],
});
const at = (fromBar: number, own: Own = {}): SectionStretch => ({ type: 'steady', ...measured(fromBar, own) });
const rit = (fromBar: number, toBpm: number): SectionStretch => ({
  type: 'gradual',
  ...measured(fromBar, {}),
  toBpm: bpm(toBpm),
});
const freely = (fromBar: number, length: number | null): SectionStretch => ({
  type: 'free',
  fromBar: bars(fromBar),
  frames: length === null ? null : frames(length),
});

/** Positions of the bar lines of a song's section, its end last. */
const linesOf = (song: Song): readonly number[] => {
  const grid = sectionGrid(song, sectionOf(song));
  return Array.from({ length: (sectionOf(song).bars ?? 1) + 1 }, (_, bar) => grid.lineAt(bar));
};

function edited(song: Song, edit: Edit): Song {
  const result = applyEdit(song, edit);
  if (!result.ok) throw new Error(`Got ${result.reason} when expected a song.`);
  return result.value;
}

describe('a section', () => {
  const common = metre(4, 4);
  test.each<[string, number, readonly SectionStretch[], readonly unknown[]]>([
    ['without stretches has the song’s tempo and metre', 4, [], [steady(4, common, tempo(120))]],
    [
      'may have a single bar of 2/4',
      4,
      [at(2, { metre: metre(2, 4) }), at(3)],
      [steady(2, common, tempo(120)), steady(1, metre(2, 4), tempo(120)), steady(1, common, tempo(120))],
    ],
    ['may end with a rit.', 4, [rit(2, 60)], [steady(2, common, tempo(120)), gradual(2, common, tempo(120), 60)]],
    [
      'may have a fermata on a beat, at the song’s own tempo',
      4,
      [at(0, { holds: [holdBeats(3, 3, 2)] })],
      [steady(4, common, tempo(120), holdBeats(3, 3, 2))],
    ],
    [
      'may have a bar in free time, after which the song’s tempo goes on',
      4,
      [rit(0, 60), freely(1, 50_000)],
      [gradual(1, common, tempo(120), 60), free(50_000), steady(2, common, tempo(120))],
    ],
    ['may be in free time alone', 1, [freely(0, null)], [free(null)]],
  ])('%s', (_, length, stretches, expected) => {
    const song = edited(songOf(length), set(stretches));
    expect(stretchesOfSection(song, sectionOf(song))).toEqual(expected);
    expect(songFault(song)).toBeNull();
  });

  test('plays its bars where an independent table has them, round and round', () => {
    fc.assert(
      fc.property(songs, (song) => {
        for (const section of song.sections) {
          const list = stretchesOfSection(song, section);
          // The table goes on in a steady stretch; the section goes round.
          const table = stretchTable([...list, steady(1, song.metre, song.tempo)], song.sampleRate);
          const grid = sectionGrid(song, section);
          const count = section.bars ?? 1;
          const known = Math.min(count, table.standstill?.bar ?? count);
          for (let bar = 0; bar <= known; bar++) expect(grid.lineAt(bar)).toBe(table.lineOf(bars(bar)));
          if (table.standstill !== null) continue;
          const round = table.lineOf(bars(count));
          for (let bar = 0; bar < count; bar++) {
            const line = grid.lineAt(bar + 3 * count);
            expect(line).toBe(table.lineOf(bars(bar)) + 3 * round);
            expect(grid.barAt(line)).toBe(bar + 3 * count);
            expect(grid.barAt(line - 1)).toBe(bar + 3 * count - 1);
          }
        }
      }),
      { numRuns: 200 },
    );
  });

  test('keeps its own tempo when the song’s changes, and follows it where it has none', () => {
    const own = [at(1, { tempo: tempo(60) }), at(2, { holds: [holdBeats(0, 0, 1)] })];
    const song = edited(songOf(4), set(own));
    expect(linesOf(song)).toEqual([0, 96_000, 288_000, 408_000, 504_000]);
    const slower = edited(song, { type: 'set-tempo', bpm: bpm(60) });
    expect(linesOf(slower)).toEqual([0, 192_000, 384_000, 624_000, 816_000]);
  });

  test('that has the stretches already stays the very same song', () => {
    const song = deepFrozen(edited(songOf(4), set([rit(2, 60), freely(3, 9)])));
    expect(edited(song, set([rit(2, 60), freely(3, 9)]))).toBe(song);
  });
});

describe('stretches are refused', () => {
  test.each<[string, EditRefusal, number | null, readonly SectionStretch[]]>([
    ['over an open section', 'stretches-need-a-length', null, [at(0)]],
    ['from a bar behind the last', 'stretches-out-of-range', 4, [at(4)]],
    ['from a bar before the first', 'stretches-out-of-range', 4, [at(-1)]],
    ['from one bar twice', 'stretches-out-of-range', 4, [at(1), rit(1, 60)]],
    ['out of order', 'stretches-out-of-range', 4, [at(2), at(1)]],
    ['at a tempo out of range', 'tempo-out-of-range', 4, [at(0, { tempo: tempo(19) })]],
    ['to a tempo out of range', 'tempo-out-of-range', 4, [rit(0, 401)]],
    ['in a metre whose groups do not fill it', 'metre-out-of-range', 4, [at(0, { metre: metre(4, 4, 3) })]],
    ['with a fermata behind its last bar', 'hold-out-of-range', 4, [at(2, { holds: [holdBeats(2, 0, 1)] })]],
    ['with a fermata on a beat that is not there', 'hold-out-of-range', 4, [at(0, { holds: [holdBeats(0, 4, 1)] })]],
    ['with a fermata of no length', 'hold-out-of-range', 4, [at(0, { holds: [holdBeats(0, 0, 0)] })]],
    ['with a fermata of more than 64 beats', 'hold-out-of-range', 4, [at(0, { holds: [holdBeats(0, 0, 65)] })]],
    [
      'with two fermatas on one beat',
      'hold-out-of-range',
      4,
      [at(0, { holds: [holdBeats(0, 0, 1), untilPressed(0, 0)] })],
    ],
    ['in free time of no frames', 'hold-out-of-range', 4, [freely(0, 0)]],
    ['in free time of more than an hour', 'hold-out-of-range', 4, [freely(0, 3600 * 48_000 + 1)]],
  ])('%s', (_, reason, length, stretches) => {
    expect(applyEdit(songOf(length), set(stretches))).toEqual({ ok: false, reason });
  });

  test('where they are held by what was played over them, and nowhere else', () => {
    const layers = fc.sample(layerNamed, { numRuns: 1, seed: 3 }).map((make) => make('layer-oars'));
    const song = songOf(4);
    const other = { ...sectionOf(song), id: 'section-b' as Section['id'], mark: 'B', layers: [] };
    const layered = { ...song, sections: [{ ...sectionOf(song), layers }, other] };
    expect(applyEdit(layered, set([at(1)]))).toEqual({ ok: false, reason: 'layers-hold-the-grid' });
    expect(applyEdit(layered, { ...set([at(1)]), section: other.id } as Edit)).toMatchObject({ ok: true });
  });

  test('in a section that is not there', () => {
    const nowhere = { ...set([]), section: 'section-nowhere' as Section['id'] } as Edit;
    expect(applyEdit(songOf(4), nowhere)).toEqual({ ok: false, reason: 'no-such-section' });
  });
});

describe('what they rest on stays', () => {
  const song = edited(songOf(4), set([at(3, { holds: [holdBeats(0, 3, 1)] })]));
  test.each<[string, Edit, EditRefusal]>([
    [
      'a section is not shortened to before a change in it',
      { type: 'set-section-bars', section: sectionOf(song).id, bars: bars(3) },
      'stretches-out-of-range',
    ],
    ['nor opened', { type: 'set-section-bars', section: sectionOf(song).id, bars: null }, 'stretches-need-a-length'],
    [
      'a metre without the beat of a fermata is not set',
      { type: 'set-metre', metre: metre(3, 4), mark: { num: 1, den: 4 } },
      'hold-out-of-range',
    ],
  ])('%s', (_, edit, reason) => {
    expect(applyEdit(song, edit)).toEqual({ ok: false, reason });
  });

  test('a section may become longer: its last stretch does', () => {
    const longer = edited(song, { type: 'set-section-bars', section: sectionOf(song).id, bars: bars(6) });
    expect(linesOf(longer).slice(4)).toEqual([408_000, 504_000, 600_000]);
  });

  test('a song with stretches that cannot be is found to be broken', () => {
    expect(songFault(songOf(4, [at(2), at(1)]))).toMatch(/stretches-out-of-range/);
    expect(songFault(songOf(null, [at(0)]))).toMatch(/stretches-need-a-length/);
  });
});

test('a loop that is read as bars of one tempo leaves no stretches beside it', () => {
  const song = edited(songOf(4), set([rit(2, 60)]));
  const [made] = fc.sample(layerNamed, { numRuns: 1, seed: 3 }).map((make) => make('layer-oars'));
  const take = { ...made!.takes[0]!, startBar: bars(0), bars: bars(4), bodyFrames: frames(380_000) };
  const layer = { ...made!, takes: [take], takeInUse: take.id };
  const section = sectionOf(song).id;
  const layered = edited(song, { type: 'add-layers', section, layers: [layer], sectionBars: bars(4) });
  const reading = { section, bpm: bpm(120), bars: bars(4), bodyFrames: frames(4 * 96_000) };
  const read = edited(layered, { type: 'read-as', first: true, ...reading });
  expect(sectionOf(read)).toMatchObject({ bars: 4, stretches: [], layers: [{ takes: [{ bodyFrames: 384_000 }] }] });
  expect(linesOf(read)).toEqual([0, 96_000, 192_000, 288_000, 384_000]);
});
