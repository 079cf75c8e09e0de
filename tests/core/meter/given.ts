/** What the tests of metre and tempo start from. */
import fc from 'fast-check';
import type { Metre, NoteValue, PulseValue } from '../../../src/core/meter/metre.js';
import { pulseOffset, type Tempo } from '../../../src/core/meter/grid.js';
import { beatMask, checkMetre, defaultMetre, feltBeats, PULSE_VALUES } from '../../../src/core/meter/metres.js';
import type {
  FreeStretch,
  GradualStretch,
  Hold,
  HoldLength,
  SteadyStretch,
  Stretch,
} from '../../../src/core/meter/stretch.js';
import { ProgramGrid } from '../../../src/core/program/program-grid.js';
import { layOutBars } from '../../../src/core/program/stretch-arrays.js';
import { bars, bpm, frames, sampleRate } from '../../../src/core/units/index.js';

export const QUARTER: NoteValue = { num: 1, den: 4 };
export const EIGHTH: NoteValue = { num: 1, den: 8 };
export const HALF: NoteValue = { num: 1, den: 2 };
export const DOTTED_QUARTER: NoteValue = { num: 3, den: 8 };

export const CD = sampleRate(44_100);
export const STUDIO = sampleRate(48_000);

export const metre = (num: number, den: PulseValue, ...groups: readonly number[]): Metre =>
  groups.length > 0 ? { num, den, groups } : defaultMetre(num, den).metre;

export const tempo = (value: number, mark: NoteValue = QUARTER): Tempo => ({ bpm: bpm(value), mark });

export const anyRate = fc.constantFrom(...[44_100, 48_000, 88_200, 96_000, 192_000].map(sampleRate));
export const anyBpm = fc.double({ min: 20, max: 300, noNaN: true }).map(bpm);
const anyMark = fc.constantFrom(QUARTER, EIGHTH, HALF, DOTTED_QUARTER);
export const anyTempo = fc.record({ bpm: anyBpm, mark: anyMark });

/** Every metre that passes: random groups of 1 to 4 pulses. */
export const anyMetre = fc
  .record({
    den: fc.constantFrom(...PULSE_VALUES),
    groups: fc.array(fc.integer({ min: 1, max: 4 }), { minLength: 1, maxLength: 12 }),
  })
  .map(({ den, groups }): Metre => ({ den, groups, num: groups.reduce((sum, group) => sum + group, 0) }))
  .filter((candidate) => checkMetre(candidate).ok);

export const steady = (count: number, given: Metre, asked: Tempo, ...holds: readonly Hold[]): SteadyStretch => ({
  type: 'steady',
  bars: bars(count),
  metre: given,
  tempo: asked,
  holds,
});

export const gradual = (
  count: number,
  given: Metre,
  asked: Tempo,
  toBpm: number,
  ...holds: readonly Hold[]
): GradualStretch => ({ ...steady(count, given, asked, ...holds), type: 'gradual', toBpm: bpm(toBpm) });

export const free = (length: number | null): FreeStretch => ({
  type: 'free',
  frames: length === null ? null : frames(length),
});

export const hold = (bar: number, beat: number, longer: HoldLength): Hold => ({ bar: bars(bar), beat, longer });
export const holdBeats = (bar: number, beat: number, beats: number): Hold => hold(bar, beat, { type: 'beats', beats });
export const untilPressed = (bar: number, beat: number): Hold => hold(bar, beat, { type: 'until-pressed' });

const anyHold = (count: number, given: Metre) =>
  fc
    .record({
      bar: fc.integer({ min: 0, max: count - 1 }),
      beat: fc.integer({ min: 0, max: feltBeats(given).length - 1 }),
      beats: fc.double({ min: 0.25, max: 8, noNaN: true }),
    })
    .map(({ bar, beat, beats }) => holdBeats(bar, beat, beats));

const anyHolds = (count: number, given: Metre) =>
  fc.uniqueArray(anyHold(count, given), { maxLength: 3, selector: ({ bar, beat }) => `${bar} ${beat}` });

const anyMeasured = fc
  .record({ count: fc.integer({ min: 1, max: 12 }), given: anyMetre, asked: anyTempo, toBpm: fc.option(anyBpm) })
  .chain(({ count, given, asked, toBpm }) =>
    anyHolds(count, given).map((holds) =>
      toBpm === null ? steady(count, given, asked, ...holds) : gradual(count, given, asked, toBpm, ...holds),
    ),
  );

const anyFree = fc.integer({ min: 1, max: 2_000_000 }).map(free);

/** Lists that are not refused and have a length: at least one stretch is steady, no hold waits for a press. */
export const anyStretches = fc
  .array(fc.oneof({ weight: 4, arbitrary: anyMeasured }, { weight: 1, arbitrary: anyFree }), { maxLength: 6 })
  .chain((list) =>
    fc
      .record({ at: fc.integer({ min: 0, max: list.length }), count: fc.integer({ min: 1, max: 12 }), asked: anyTempo })
      .map(({ at, count, asked }): readonly Stretch[] => list.toSpliced(at, 0, steady(count, metre(4, 4), asked))),
  );

/** Bars of one metre and length, for ever both ways, as a program has them. */
export function evenBars(given: Metre, barFrames: number): ProgramGrid {
  const offsets = Array.from({ length: given.num + 1 }, (_, j) => pulseOffset(j, frames(barFrames), given.num));
  const bar = { bars: 1, beats: beatMask(given), groups: 0, offsets };
  return new ProgramGrid(
    layOutBars({ before: bar, firstBar: 0, firstFrame: 0, runs: [bar], loopBars: 1, endBar: Infinity }),
  );
}
