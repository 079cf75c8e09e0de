import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Metre, NoteValue, PulseValue } from '../../../src/core/meter/metre.js';
import type { Stretch } from '../../../src/core/meter/stretch.js';
import { ProgramGrid } from '../../../src/core/program/program-grid.js';
import { programStretches } from '../../../src/core/program/stretch-arrays.js';
import { ClickTrack } from '../../../src/core/render/click.js';
import { frames, sampleRate } from '../../../src/core/units/index.js';
import { knocksIn, type Heard } from '../../support/knocks.js';
import { firstDifference } from '../../support/signals.js';
import { free, gradual, hold, holdBeats, steady, tempo, untilPressed } from '../meter/given.js';

/** Levels: first of the bar, first of a later group among evenly counted beats, other beats. Own choice. */
const B = 1;
const G = 0.775;
const w = 0.6;
const GAIN = 0.25;

interface Published {
  readonly name: string;
  readonly metre: Metre;
  /** The note value that the tempo counts. */
  readonly mark: NoteValue;
  /** Pulses that are felt as beats, and how heavy each is. */
  readonly beats: readonly (readonly [pulse: number, level: number])[];
}

const row = (
  name: string,
  [num, den]: readonly [number, PulseValue],
  groups: readonly number[],
  [markNum, markDen]: readonly [number, PulseValue],
  beats: Published['beats'],
): Published => ({ name, metre: { num, den, groups }, mark: { num: markNum, den: markDen }, beats });

/**
 * Which pulses are beats: common practice, no source; that compound metres are felt in dotted notes: Standard MIDI Files
 * 1.0, time signature, own example of 6/8; table 2a of the reference.
 */
const METRES: readonly Published[] = [
  row(
    '2/4',
    [2, 4],
    [1, 1],
    [1, 4],
    [
      [0, B],
      [1, w],
    ],
  ),
  row(
    '3/4',
    [3, 4],
    [1, 1, 1],
    [1, 4],
    [
      [0, B],
      [1, w],
      [2, w],
    ],
  ),
  row(
    '4/4',
    [4, 4],
    [1, 1, 1, 1],
    [1, 4],
    [
      [0, B],
      [1, w],
      [2, w],
      [3, w],
    ],
  ),
  row(
    '2/2',
    [2, 2],
    [1, 1],
    [1, 2],
    [
      [0, B],
      [1, w],
    ],
  ),
  row(
    '5/4 (3+2)',
    [5, 4],
    [3, 2],
    [1, 4],
    [
      [0, B],
      [1, w],
      [2, w],
      [3, G],
      [4, w],
    ],
  ),
  row(
    '7/4 (2+2+3)',
    [7, 4],
    [2, 2, 3],
    [1, 4],
    [
      [0, B],
      [1, w],
      [2, G],
      [3, w],
      [4, G],
      [5, w],
      [6, w],
    ],
  ),
  row(
    '6/8',
    [6, 8],
    [3, 3],
    [3, 8],
    [
      [0, B],
      [3, w],
    ],
  ),
  row(
    '9/8',
    [9, 8],
    [3, 3, 3],
    [3, 8],
    [
      [0, B],
      [3, w],
      [6, w],
    ],
  ),
  row(
    '12/8',
    [12, 8],
    [3, 3, 3, 3],
    [3, 8],
    [
      [0, B],
      [3, w],
      [6, w],
      [9, w],
    ],
  ),
  row(
    '5/8 (3+2)',
    [5, 8],
    [3, 2],
    [1, 8],
    [
      [0, B],
      [3, w],
    ],
  ),
  row(
    '7/8 (2+2+3)',
    [7, 8],
    [2, 2, 3],
    [1, 8],
    [
      [0, B],
      [2, w],
      [4, w],
    ],
  ),
  row(
    '7/8 (3+2+2)',
    [7, 8],
    [3, 2, 2],
    [1, 8],
    [
      [0, B],
      [3, w],
      [5, w],
    ],
  ),
  row(
    '8/8 (3+3+2)',
    [8, 8],
    [3, 3, 2],
    [1, 8],
    [
      [0, B],
      [3, w],
      [6, w],
    ],
  ),
  row(
    '11/8 (3+3+3+2)',
    [11, 8],
    [3, 3, 3, 2],
    [1, 8],
    [
      [0, B],
      [3, w],
      [6, w],
      [9, w],
    ],
  ),
  row('3/8 in one', [3, 8], [3], [3, 8], [[0, B]]),
];

const published = (name: string): Published => {
  const found = METRES.find((each) => each.name === name);
  if (found === undefined) throw new Error(`Got ${name} when expected one of the table.`);
  return found;
};

const RATES = [44_100, 48_000, 96_000];
const nearest = (value: number): number => Math.floor(value + 0.5);

/** Seconds of a bar: as many marks as fit in it, each 60 / bpm. */
const barSeconds = ({ metre, mark }: Published, bpm: number): number =>
  ((metre.num / metre.den / (mark.num / mark.den)) * 60) / bpm;

/** The slow reference: beat after beat of bars that begin at given frames and have given pulses. */
function clicksOf(
  { beats }: Published,
  lines: readonly { readonly at: number; readonly pulseAt: (pulse: number) => number }[],
): Heard[] {
  return lines.flatMap(({ at, pulseAt }) =>
    beats.map(([pulse, level]) => ({ at: at + pulseAt(pulse), level: level * GAIN })),
  );
}

/** Steady bars: the bar is rounded once, each pulse inside it once. */
function steadyLines(given: Published, bpm: number, rate: number, from: number, to: number, first = 0) {
  const length = nearest(barSeconds(given, bpm) * rate);
  const pulseAt = (pulse: number): number => nearest((pulse * length) / given.metre.num);
  return Array.from({ length: to - from }, (_, k) => ({ at: first + (from + k) * length, pulseAt }));
}

const gridOf = (list: readonly Stretch[], rate: number, loop: boolean): ProgramGrid =>
  new ProgramGrid(programStretches(list, sampleRate(rate), loop));

const stretchOf = ({ metre, mark }: Published, bars: number, bpm: number) => steady(bars, metre, tempo(bpm, mark));

/** Renders positions [from, to) in blocks. `from` becomes sample 0. */
function render(
  grid: ProgramGrid,
  rate: number,
  [from, to]: readonly [number, number],
  { block = 4096, playing = true, startsAt = from } = {},
): Float64Array {
  const click = new ClickTrack(sampleRate(rate));
  click.set(playing, GAIN, frames(0));
  const out = new Float64Array(to - from);
  for (let at = from; at < to; at += block) {
    const count = Math.min(block, to - at);
    click.add(grid, 0, startsAt, at, count, out.subarray(at - from, at - from + count));
  }
  return out;
}

const heardIn = (grid: ProgramGrid, rate: number, span: readonly [number, number]): readonly Heard[] =>
  knocksIn(render(grid, rate, span), rate).map(({ at, level }) => ({ at: at + span[0], level }));

function expectClicks(heard: readonly Heard[], expected: readonly Heard[]): void {
  expect(heard.map(({ at }) => at)).toEqual(expected.map(({ at }) => at));
  heard.forEach(({ level }, i) => {
    expect(level).toBeCloseTo(expected[i]?.level ?? NaN, 9);
  });
}

describe('the click of a steady metre, to the frame, at 44.1, 48 and 96 kHz', () => {
  // Bar lengths: definition, reference tables 1a and 2b (Standard MIDI Files 1.0: seconds a beat = 60 / bpm).
  describe.each(METRES)('$name', (given) => {
    test.each([20, 57.3, 96, 137, 211, 400])('at %f a minute: count-in and bars', (bpm) => {
      for (const rate of RATES) {
        const grid = gridOf([stretchOf(given, 4, bpm)], rate, true);
        const lines = steadyLines(given, bpm, rate, -1, 2);
        const end = grid.lineAt(2);
        expectClicks(heardIn(grid, rate, [grid.lineAt(-1), end]), clicksOf(given, lines));
      }
    });
  });

  // Reference table 1a (computed from 60 / bpm): frames a beat.
  test.each([
    [60, 44_100, 44_100],
    [90, 44_100, 29_400],
    [100, 44_100, 26_460],
    [120, 44_100, 22_050],
    [125, 44_100, 21_168],
    [140, 44_100, 18_900],
    [60, 48_000, 48_000],
    [90, 48_000, 32_000],
    [96, 48_000, 30_000],
    [120, 48_000, 24_000],
    [125, 48_000, 23_040],
    [128, 48_000, 22_500],
  ])('4/4 at %i and %i Hz: a knock every %i frames', (bpm, rate, beat) => {
    const heard = heardIn(gridOf([stretchOf(published('4/4'), 4, bpm)], rate, true), rate, [0, 9 * beat]);
    expect(heard.map(({ at }) => at)).toEqual([0, 1, 2, 3, 4, 5, 6, 7, 8].map((k) => k * beat));
  });

  // Reference table 2a (Standard MIDI Files 1.0, time signature): MIDI clocks, 24 a quarter, from one click to the next.
  test.each([
    ['4/4', 24],
    ['3/4', 24],
    ['2/4', 24],
    ['2/2', 48],
    ['6/8', 36],
    ['9/8', 36],
    ['12/8', 36],
  ])('%s knocks every %i MIDI clocks', (name, clocks) => {
    const given = published(name);
    // A quarter of a second a quarter: 500 frames a clock at 48 kHz.
    const quarter: Published = { ...given, mark: { num: 1, den: 4 } };
    const heard = heardIn(gridOf([stretchOf(quarter, 4, 240)], 48_000, true), 48_000, [0, 6 * clocks * 500]);
    expect(heard.map(({ at }) => at)).toEqual([0, 1, 2, 3, 4, 5].map((k) => k * clocks * 500));
  });

  test('7/8 counted in eighths knocks every 12 MIDI clocks', () => {
    const eighths: Metre = { num: 7, den: 8, groups: [1, 1, 1, 1, 1, 1, 1] };
    const grid = gridOf([steady(2, eighths, tempo(240))], 48_000, true);
    expect(heardIn(grid, 48_000, [0, 84 * 500]).map(({ at }) => at)).toEqual(
      [0, 1, 2, 3, 4, 5, 6].map((k) => k * 12 * 500),
    );
  });
});

describe('the click of a count-in', () => {
  test.each(METRES)('of two bars of $name is in the felt beats of the bars that follow', (given) => {
    const grid = gridOf([stretchOf(given, 4, 132)], 48_000, true);
    const span = [grid.lineAt(-2), grid.lineAt(1)] as const;
    expectClicks(heardIn(grid, 48_000, span), clicksOf(given, steadyLines(given, 132, 48_000, -2, 1)));
  });

  test('before a rit. is in the tempo with which the rit. begins, and in the metre of the first bar', () => {
    const given = published('3/4');
    const list = [gradual(2, given.metre, tempo(90), 60), stretchOf(published('4/4'), 2, 60)];
    const grid = gridOf(list, 48_000, false);
    const heard = heardIn(grid, 48_000, [grid.lineAt(-2), 0]);
    expectClicks(heard, clicksOf(given, steadyLines(given, 90, 48_000, -2, 0)));
  });

  test('is heard also where the click is off while playing', () => {
    const grid = gridOf([stretchOf(published('4/4'), 4, 120)], 48_000, true);
    const out = render(grid, 48_000, [-96_000, 96_000], { playing: false });
    expect(knocksIn(out, 48_000).map(({ at }) => at)).toEqual([0, 24_000, 48_000, 72_000]);
  });
});

describe('the click where tempo and metre change', () => {
  const common = published('4/4');
  const short = published('2/4');

  test('a bar of 2/4 in 4/4, as a loop, round after round', () => {
    const grid = gridOf([stretchOf(common, 2, 100), stretchOf(short, 1, 100), stretchOf(common, 1, 100)], 44_100, true);
    // A quarter at 100 is 26,460 frames at 44.1 kHz (reference table 1a).
    const beat = 26_460;
    const steadily = (pulse: number): number => pulse * beat;
    const expected = [0, 1, 2].flatMap((round) => [
      ...clicksOf(
        common,
        [0, 4].map((at) => ({ at: (14 * round + at) * beat, pulseAt: steadily })),
      ),
      ...clicksOf(short, [{ at: (14 * round + 8) * beat, pulseAt: steadily }]),
      ...clicksOf(common, [{ at: (14 * round + 10) * beat, pulseAt: steadily }]),
    ]);
    expectClicks(heardIn(grid, 44_100, [0, 3 * 14 * beat]), expected);
  });

  test.each([
    ['rit.', 120, 60, 44_100],
    ['accel.', 72, 160, 48_000],
    ['rit.', 200, 45, 96_000],
  ])('a %s from %i to %i at %i Hz follows the integral of the tempo, beat by beat', (_, from, to, rate) => {
    const bars = 3;
    const list = [stretchOf(common, 1, from), gradual(bars, common.metre, tempo(from), to), stretchOf(common, 2, to)];
    const grid = gridOf(list, rate, false);
    const start = nearest(((4 * 60) / from) * rate);
    // Time to each quarter, added up in small steps of a tempo that goes in a straight line over the bars.
    const quarters = 4 * bars;
    const steps = 20_000;
    const times = [0];
    let time = 0;
    for (let quarter = 0; quarter < quarters; quarter++) {
      for (let i = 0; i < steps; i++) {
        const bpm = from + ((to - from) * (quarter + (i + 0.5) / steps)) / quarters;
        time += 60 / bpm / steps;
      }
      times.push(time);
    }
    const at = (quarter: number): number => start + nearest((times[quarter] ?? NaN) * rate);
    const changing = Array.from({ length: bars }, (__, bar) => ({
      at: at(4 * bar),
      pulseAt: (pulse: number) => at(4 * bar + pulse) - at(4 * bar),
    }));
    const expected = [
      ...clicksOf(common, steadyLines(common, from, rate, 0, 1)),
      ...clicksOf(common, changing),
      ...clicksOf(common, steadyLines(common, to, rate, 0, 2, at(quarters))),
    ];
    expectClicks(heardIn(grid, rate, [0, grid.lineAt(1 + bars + 2)]), expected);
  });

  test('a fermata: no knock while time stands still, and everything behind it later by as much', () => {
    // Beat 3 of bar 1 held for two and a half beats more: 24,000 frames a beat.
    const list = [steady(3, common.metre, tempo(120), holdBeats(1, 2, 2.5))];
    const held = clicksOf(common, [
      { at: 96_000, pulseAt: (pulse) => pulse * 24_000 + (pulse > 2 ? 60_000 : 0) },
      { at: 252_000, pulseAt: (pulse) => pulse * 24_000 },
    ]);
    const expected = [...clicksOf(common, steadyLines(common, 120, 48_000, 0, 1)), ...held];
    expectClicks(heardIn(gridOf(list, 48_000, false), 48_000, [0, 348_000]), expected);
  });

  test('two fermatas in a bar, given in frames', () => {
    const list = [
      steady(
        1,
        common.metre,
        tempo(120),
        hold(0, 3, { type: 'frames', frames: frames(777) }),
        hold(0, 0, { type: 'frames', frames: frames(12_345) }),
      ),
      stretchOf(common, 1, 120),
    ];
    const heard = heardIn(gridOf(list, 48_000, false), 48_000, [0, 150_000]);
    expect(heard.map(({ at }) => at)).toEqual([0, 36_345, 60_345, 84_345, 109_122, 133_122]);
  });

  test('free time: nothing from its line to its end, then the first of the next bar', () => {
    const list = [stretchOf(common, 1, 120), free(200_001), stretchOf(common, 1, 120)];
    const heard = heardIn(gridOf(list, 48_000, false), 48_000, [0, 330_000]);
    expect(heard.map(({ at }) => at)).toEqual([0, 24_000, 48_000, 72_000, 296_001, 320_001]);
  });

  test.each([
    ['a fermata until pressed', [steady(4, common.metre, tempo(120), untilPressed(0, 1))], [0, 24_000]],
    ['free time until pressed', [stretchOf(common, 1, 120), free(null)], [0, 24_000, 48_000, 72_000]],
  ])('%s: silence for as long as it lasts', (_, list, expected) => {
    for (const loop of [false, true]) {
      const grid = gridOf(list, 48_000, loop);
      expect(heardIn(grid, 48_000, [0, 480_000]).map(({ at }) => at)).toEqual(expected);
      expect(heardIn(grid, 48_000, [1e10, 1e10 + 480_000])).toEqual([]);
    }
  });

  test('a program that ends is silent from the line after its last bar on', () => {
    const grid = gridOf([stretchOf(common, 2, 120), stretchOf(short, 1, 120)], 48_000, false);
    const heard = heardIn(grid, 48_000, [0, 2_000_000]);
    expect(heard.map(({ at }) => at)).toEqual([0, 1, 2, 3, 4, 5, 6, 7, 8, 9].map((k) => k * 24_000));
  });
});

describe('hours of click', () => {
  const hours = fc.double({ min: 0, max: 24, noNaN: true });

  test('every bar line is the whole multiple of its bar, and its knock is on it, after any number of hours', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...METRES),
        fc.double({ min: 20, max: 400, noNaN: true }),
        fc.constantFrom(...RATES),
        hours,
        (given, bpm, rate, hour) => {
          const grid = gridOf([stretchOf(given, 4, bpm)], rate, true);
          const length = nearest(barSeconds(given, bpm) * rate);
          const bar = Math.floor((hour * 3600 * rate) / length);
          const line = BigInt(bar) * BigInt(length);
          expect(BigInt(grid.lineAt(bar))).toBe(line);
          const at = Number(line);
          const first = heardIn(grid, rate, [at - 10, at + 1500])[0];
          expect(first).toEqual({ at, level: expect.closeTo(B * GAIN, 9) as number });
        },
      ),
      { numRuns: 200 },
    );
  });

  test('a loop with a bar of 2/4 and a rit. in it does not drift against its own first round', () => {
    const list = [
      stretchOf(published('4/4'), 3, 137),
      stretchOf(published('2/4'), 1, 137),
      gradual(1, published('4/4').metre, tempo(137), 100),
    ];
    fc.assert(
      fc.property(fc.constantFrom(...RATES), hours, (rate, hour) => {
        const grid = gridOf(list, rate, true);
        const round = grid.lineAt(5);
        const n = Math.floor((hour * 3600 * rate) / round);
        const first = heardIn(grid, rate, [0, round]);
        const later = heardIn(grid, rate, [n * round, (n + 1) * round]);
        expect(later).toEqual(first.map(({ at, level }) => ({ at: at + n * round, level })));
      }),
      { numRuns: 10 },
    );
  });
});

describe('the click track', () => {
  test('gives the same samples for any split into blocks', () => {
    const list = [gradual(2, published('6/8').metre, tempo(150), 220), stretchOf(published('5/4 (3+2)'), 2, 220)];
    const grid = gridOf(list, 48_000, true);
    const span = [grid.lineAt(-1), grid.lineAt(9)] as const;
    const whole = Float32Array.from(render(grid, 48_000, span));
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 3000 }), (block) => {
        expect(firstDifference(Float32Array.from(render(grid, 48_000, span, { block })), whole)).toBe(-1);
      }),
      { numRuns: 12 },
    );
  });

  test('leaves out beats before the frame at which playing starts', () => {
    const grid = gridOf([stretchOf(published('4/4'), 1, 120)], 48_000, true);
    const out = render(grid, 48_000, [0, 96_000], { startsAt: 30_000 });
    expect(knocksIn(out, 48_000).map(({ at }) => at)).toEqual([48_000, 72_000]);
  });

  test('lets a knock that has begun sound to its end when other bar lines come into use', () => {
    const slow = gridOf([stretchOf(published('4/4'), 1, 120)], 48_000, true);
    const fast = gridOf([stretchOf(published('3/4'), 1, 200)], 48_000, true);
    const click = new ClickTrack(sampleRate(48_000));
    click.set(true, GAIN, frames(0));
    const out = new Float64Array(4000);
    click.add(slow, 0, 0, 24_000, 300, out.subarray(0, 300));
    // Twice, moments after each other: the knock of beat 2 goes on all the same.
    click.ringOn(slow, 0, 0, 24_300);
    click.add(fast, 20_000, 0, 24_300, 100, out.subarray(300, 400));
    click.ringOn(fast, 20_000, 0, 24_400);
    click.add(slow, 0, 0, 24_400, 3600, out.subarray(400));
    const whole = render(slow, 48_000, [24_000, 28_000]);
    expect(firstDifference(Float32Array.from(out), Float32Array.from(whole))).toBe(-1);
  });
});
