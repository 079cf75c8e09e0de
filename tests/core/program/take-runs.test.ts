import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { CurveShelf } from '../../../src/core/program/curve-shelf.js';
import { VOICE_FIELDS, Voice } from '../../../src/core/program/program.js';
import { runsOfTake } from '../../../src/core/program/take-runs.js';
import { voicesOfTake } from '../../../src/core/program/voice-row.js';
import { crossfadeTables } from '../../../src/core/seam/crossfade.js';
import { NO_SEAM, type Seam } from '../../../src/core/seam/seam.js';
import { asId } from '../../../src/core/song/ids.js';
import type { Take } from '../../../src/core/song/song.js';
import { bars, frames, sampleRate } from '../../../src/core/units/index.js';
import { gridOfBars } from './given.js';

const RATE = sampleRate(48_000);
const BAR = 10_000;
const START = 50_000;
/** Longest seam on purpose: what belongs to the ends of the take is told from what belongs to a joint. */
const RING: Seam = {
  ...NO_SEAM,
  kind: 'let-ring',
  leadFrames: frames(1680),
  fadeInFrames: frames(96),
  fadeInShape: 0.5,
  tailFrames: frames(20_000),
  fadeOutFrames: frames(960),
  fadeOutShape: 0.25,
};

function takeOf(moves: readonly (readonly [number, number])[], more: Partial<Take> = {}): Take {
  return {
    id: asId('take'),
    recording: asId('recording'),
    channel: 0,
    bodyStart: frames(START),
    bodyFrames: frames(4 * BAR),
    lead: frames(40_000),
    tail: frames(30_000),
    startBar: bars(0),
    bars: bars(4),
    alignment: [[0, 0] as const, ...moves].map(([bar, shift]) => ({
      fromBar: bars(bar),
      roundTrip: frames(4928 + shift),
      how: 'measured',
      sure: true,
    })),
    seam: { chosen: null, pickup: false, decided: RING },
    ...more,
  };
}
const equalBars = gridOfBars([BAR, BAR, BAR, BAR]);
const rowsOf = (take: Take, grid = equalBars, shelf = new CurveShelf()) => voicesOfTake(take, grid, shelf, RATE);
const figures = (row: Float64Array, ...columns: readonly (keyof typeof Voice)[]) =>
  columns.map((column) => row[Voice[column]]);

describe('the runs of a take', () => {
  test.each<[string, Take, readonly (readonly number[])[]]>([
    ['one, of one round trip', takeOf([]), [[0, 0, START, 4 * BAR]]],
    [
      'two, where the audio jumps',
      takeOf([[3, 70]]),
      [
        [0, 0, START, 3 * BAR],
        [3, 3 * BAR, START + 3 * BAR + 70, BAR],
      ],
    ],
    [
      'three, there and back',
      takeOf([[1, -300], [2, 0]]), // prettier-ignore
      [
        [0, 0, START, BAR],
        [1, BAR, START + BAR - 300, BAR],
        [2, 2 * BAR, START + 2 * BAR, 2 * BAR],
      ],
    ],
  ])('are %s', (_, take, expected) => {
    const runs = runsOfTake(take, equalBars);
    expect(runs.map(({ fromBar, into, bodyStart, bodyFrames }) => [fromBar, into, bodyStart, bodyFrames])).toEqual(
      expected,
    );
  });

  test('part at the lines of the bars that they were played over, however long those are', () => {
    const grid = gridOfBars([9000, 12_000, 7000, 11_000]);
    // Bars 2, 3 of one round and 0, 1 of the next.
    const take = takeOf([[1, 5], [3, 9]], { startBar: bars(2), bodyFrames: frames(39_000) }); // prettier-ignore
    expect(runsOfTake(take, grid).map(({ into }) => into)).toEqual([0, 7000, 27_000]);
  });

  test('part at the same part of the body, where the bars are others by now', () => {
    const take = takeOf([[1, 5]], { bodyFrames: frames(8000) });
    expect(runsOfTake(take, equalBars).map(({ into }) => into)).toEqual([0, 2000]);
  });

  test('are as long as the body together, each where the last one ends', () => {
    fc.assert(
      fc.property(
        fc.uniqueArray(fc.integer({ min: 1, max: 8 }), { maxLength: 6 }),
        fc.array(fc.integer({ min: -90_000, max: 90_000 }), { minLength: 6, maxLength: 6 }),
        fc.integer({ min: 1, max: 4 * BAR }),
        fc.nat({ max: 9 }),
        (at, shifts, bodyFrames, startBar) => {
          const moves = at.toSorted((a, b) => a - b).map((bar, i) => [bar, shifts[i]!] as const);
          const take = takeOf(moves, { bodyFrames: frames(bodyFrames), startBar: bars(startBar) });
          const runs = runsOfTake(take, equalBars);
          expect(runs.length).toBeGreaterThan(0);
          let into = 0;
          for (const run of runs) {
            expect(run.into).toBe(into);
            expect(run.bodyFrames).toBeGreaterThan(0);
            into += run.bodyFrames;
          }
          expect(into).toBe(bodyFrames);
        },
      ),
    );
  });
});

describe('the voices of a take whose audio jumps', () => {
  test('come again together, each at its own line, and the first one is that of the whole', () => {
    const [one] = rowsOf(takeOf([]));
    const bent = rowsOf(takeOf([[1, 70], [3, -40]])); // prettier-ignore
    expect(bent.map(({ fromBar }) => fromBar)).toEqual([0, 1, 3]);
    expect(bent.map(({ row }) => figures(row, 'start', 'bodyStart', 'bodyFrames', 'period'))).toEqual([
      [0, START, BAR, 4 * BAR],
      [BAR, START + BAR + 70, 2 * BAR, 4 * BAR],
      [3 * BAR, START + 3 * BAR - 40, BAR, 4 * BAR],
    ]);
    expect(figures(one!.row, 'start', 'bodyStart', 'bodyFrames', 'period')).toEqual([0, START, 4 * BAR, 4 * BAR]);
  });

  test('are in the phase of the whole', () => {
    const starts = rowsOf(takeOf([[2, 70]], { startBar: bars(3) })).map(({ row }) => row[Voice.start]);
    expect(starts).toEqual([-BAR, BAR]);
  });

  test('have the seam of the take at its ends, and 10 ms before the line where one goes over into the next', () => {
    const shelf = new CurveShelf();
    const [first, inner, last] = rowsOf(takeOf([[1, 70], [3, -40]]), equalBars, shelf).map(({ row }) => row); // prettier-ignore
    const curves = shelf.toArray();
    const fadeIn = (row: Float64Array) => curves.slice(row[Voice.fadeInAt], row[Voice.fadeInAt]! + row[Voice.fadeIn]!);
    const fadeOut = (row: Float64Array) =>
      curves.slice(row[Voice.fadeOutAt], row[Voice.fadeOutAt]! + row[Voice.fadeOut]!);
    const joint = crossfadeTables(frames(480), 0);
    expect([first!, inner!, last!].map((row) => figures(row, 'lead', 'tail'))).toEqual([
      [1680, 0],
      [480, 0],
      [480, 20_000],
    ]);
    expect(fadeIn(first!)).toEqual(crossfadeTables(frames(96), 0.5).fadeIn);
    expect(fadeOut(first!)).toEqual(joint.fadeOut);
    expect(fadeIn(inner!)).toEqual(joint.fadeIn);
    expect(fadeOut(inner!)).toEqual(joint.fadeOut);
    expect(fadeIn(last!)).toEqual(joint.fadeIn);
    expect(fadeOut(last!)).toEqual(crossfadeTables(frames(960), 0.25).fadeOut);
  });

  test('go over into each other the same way where nobody has listened to the lines', () => {
    const rows = rowsOf(takeOf([[2, 70]], { seam: { chosen: null, pickup: false, decided: null } }));
    expect(rows.map(({ row }) => figures(row, 'lead', 'tail', 'fadeIn', 'fadeOut'))).toEqual([
      [480, 0, 480, 480],
      [480, 0, 480, 480],
    ]);
  });

  test('ring on no further than what came in', () => {
    const tailOf = (shift: number) => rowsOf(takeOf([[2, shift]]))[1]!.row[Voice.tail];
    expect([tailOf(10_000), tailOf(12_000), tailOf(40_000), tailOf(-5000)]).toEqual([20_000, 18_000, 0, 20_000]);
  });

  test('of one round trip are one row, whatever else its alignment says, and that of the take', () => {
    const same = rowsOf(takeOf([[1, 0], [2, 0]])); // prettier-ignore
    expect(same).toEqual(rowsOf(takeOf([])));
    expect(same).toHaveLength(1);
    expect(same[0]!.row).toHaveLength(VOICE_FIELDS);
  });
});
