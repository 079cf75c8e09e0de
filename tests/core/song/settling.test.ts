import { describe, expect, test } from 'vitest';
import type { HoldLength } from '../../../src/core/meter/stretch.js';
import { lastedIn } from '../../../src/core/program/lasted.js';
import { ProgramGrid } from '../../../src/core/program/program-grid.js';
import { sectionGrid } from '../../../src/core/program/compile.js';
import { endStandstill } from '../../../src/core/program/stretch-changes.js';
import type { SectionStretch } from '../../../src/core/song/section-stretch.js';
import { onlySettles, settled } from '../../../src/core/song/settling.js';
import type { Section } from '../../../src/core/song/song.js';
import { bars, bpm, frames } from '../../../src/core/units/index.js';
import { ferrySong } from './arbitraries.js';

/** 4/4 at 120: a bar is 96,000 frames. */
const song = { ...ferrySong(), tempo: { ...ferrySong().tempo, bpm: bpm(120) } };
const sectionWith = (stretches: readonly SectionStretch[]): Section => ({
  ...song.sections[0]!,
  bars: bars(4),
  stretches,
});

const waits: HoldLength = { type: 'until-pressed' };
const lasting = (length: number): HoldLength => ({ type: 'frames', frames: frames(length) });
const held = (fromBar: number, bar: number, beat: number, longer: HoldLength): SectionStretch => ({
  type: 'steady',
  fromBar: bars(fromBar),
  metre: null,
  tempo: null,
  holds: [{ bar: bars(bar), beat, longer }],
});
const freely = (fromBar: number, length: number | null): SectionStretch => ({
  type: 'free',
  fromBar: bars(fromBar),
  frames: length === null ? null : frames(length),
});

/** The bar lines of a section in which time went on at those positions, in order. */
const played = (section: Section, ...at: readonly number[]): ProgramGrid =>
  at.reduce((grid, position) => new ProgramGrid(endStandstill(grid, position)), sectionGrid(song, section));

describe('what waited for a press', () => {
  const section = sectionWith([held(0, 1, 2, waits), freely(3, null)]);
  /** The third beat of bar 1 is over at 168,000, and held for 5000; bar 3 begins at 293,000 and lasts for 60,000. */
  const grid = played(section, 173_000, 353_000);

  test('is as long as it was played, to the frame', () => {
    expect(settled(section.stretches, lastedIn(grid, 0, song, section))).toEqual([
      held(0, 1, 2, lasting(5000)),
      freely(3, 60_000),
    ]);
  });

  test('gives the very bar lines that were played', () => {
    const known = sectionWith(settled(section.stretches, lastedIn(grid, 0, song, section)));
    expect(sectionGrid(song, known).stretches).toEqual(grid.stretches);
  });

  test('is read off whatever round it was played in', () => {
    expect(settled(section.stretches, lastedIn(grid, 8, song, section))).toEqual(
      settled(section.stretches, lastedIn(grid, 0, song, section)),
    );
  });

  test('stays open where no press has come yet', () => {
    const once = played(section, 173_000);
    expect(settled(section.stretches, lastedIn(once, 0, song, section))).toEqual([
      held(0, 1, 2, lasting(5000)),
      freely(3, null),
    ]);
  });

  test('leaves stretches that have their lengths the very same', () => {
    const known = sectionWith([held(0, 1, 2, lasting(7)), freely(3, 9)]);
    expect(settled(known.stretches, lastedIn(played(known), 0, song, known))).toBe(known.stretches);
  });
});

describe('stretches only settle', () => {
  const before = [held(0, 1, 2, waits), freely(3, null)];
  test.each<[string, readonly SectionStretch[], boolean]>([
    ['where nothing is new', before, true],
    ['where a fermata is known', [held(0, 1, 2, lasting(5)), freely(3, null)], true],
    ['where all is known', [held(0, 1, 2, lasting(5)), freely(3, 9)], true],
    ['not where the fermata is on another beat', [held(0, 1, 3, lasting(5)), freely(3, null)], false],
    ['not where one is gone', [held(0, 1, 2, lasting(5))], false],
    ['not where one is of another kind', [freely(0, 5), freely(3, null)], false],
  ])('%s', (_, after, expected) => {
    expect(onlySettles(before, after)).toBe(expected);
  });

  test('not where a length that was known becomes another', () => {
    expect(onlySettles([freely(3, 9)], [freely(3, 10)])).toBe(false);
    expect(onlySettles([held(0, 0, 0, lasting(1))], [held(0, 0, 0, lasting(2))])).toBe(false);
  });
});
