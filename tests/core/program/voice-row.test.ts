import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { compile } from '../../../src/core/program/compile.js';
import { CurveShelf } from '../../../src/core/program/curve-shelf.js';
import { type Program, STRIP_FIELDS, Strip, Voice } from '../../../src/core/program/program.js';
import { MOST_ITERATIONS, voicesOfTake } from '../../../src/core/program/voice-row.js';
import { crossfadeTables } from '../../../src/core/seam/crossfade.js';
import type { Seam } from '../../../src/core/seam/seam.js';
import { NO_SEAM } from '../../../src/core/seam/seam.js';
import { asId, type LayerId } from '../../../src/core/song/ids.js';
import type { Layer, Section, Song, Take } from '../../../src/core/song/song.js';
import { bars, decibels, frames, gainFromDecibels, sampleRate } from '../../../src/core/units/index.js';
import { ferrySong, layerNamed } from '../song/arbitraries.js';
import { gridOfBars } from './given.js';

const RATE = sampleRate(48_000);
const BODY = 480_000;

const take: Take = {
  id: asId('take'),
  recording: asId('recording'),
  channel: 1,
  bodyStart: frames(100_928),
  bodyFrames: frames(BODY),
  lead: frames(100_928),
  tail: frames(192_000),
  startBar: bars(0),
  bars: bars(4),
  alignment: [{ fromBar: bars(0), roundTrip: frames(4928), how: 'measured', sure: true }],
  seam: { chosen: null, pickup: false, decided: null },
};
const withSeam = (decided: Seam | null, change: Partial<Take> = {}): Take => ({
  ...take,
  ...change,
  seam: { ...take.seam, decided },
});
type Figures = Partial<Record<Exclude<keyof Seam, 'kind' | 'mayOverlap'>, number>>;
const seam = (figures: Figures, kind: Seam['kind'] = 'crossfade'): Seam => ({
  ...NO_SEAM,
  ...(figures as Partial<Seam>),
  kind,
});

interface Row {
  readonly row: Float64Array;
  readonly curves: Float32Array;
  readonly fadeIn: Float32Array;
  readonly fadeOut: Float32Array;
}

function rowOf(of: Take, shelf = new CurveShelf()): Row {
  const { row } = voicesOfTake(of, gridOfBars([of.bodyFrames / of.bars]), shelf, RATE)[0]!;
  const curves = shelf.toArray();
  const table = (at: number, length: number) => curves.slice(row[at], row[at]! + row[length]!);
  return { row, curves, fadeIn: table(Voice.fadeInAt, Voice.fadeIn), fadeOut: table(Voice.fadeOutAt, Voice.fadeOut) };
}

describe('the row of a take', () => {
  test('says where its body is', () => {
    const { row } = rowOf(take);
    expect([row[Voice.channel], row[Voice.bodyStart], row[Voice.bodyFrames]]).toEqual([1, 100_928, BODY]);
    expect([row[Voice.start], row[Voice.end]]).toEqual([0, Infinity]);
  });

  test('begun at bar 3 of its four is under way at the top', () => {
    expect(rowOf({ ...take, startBar: bars(3) }).row[Voice.start]).toBe(-BODY / 4);
  });

  test('whose lines nobody has listened to is crossfaded over 10 ms, as if its signals were unrelated', () => {
    const { row, fadeIn, fadeOut } = rowOf(take);
    expect([row[Voice.lead], row[Voice.tail]]).toEqual([480, 0]);
    const tables = crossfadeTables(frames(480), 0);
    expect(fadeIn).toEqual(tables.fadeIn);
    expect(fadeOut).toEqual(tables.fadeOut);
  });

  test('with less in front of it than that begins further up the same fade', () => {
    const { row, fadeIn } = rowOf({ ...take, lead: frames(100) });
    expect(row[Voice.lead]).toBe(100);
    expect(fadeIn).toEqual(crossfadeTables(frames(480), 0).fadeIn.slice(380));
  });

  test.each<[string, Seam]>([
    [
      'a crossfade',
      seam({ leadFrames: 480, fadeInFrames: 480, fadeInShape: 0.4, fadeOutFrames: 480, fadeOutShape: 0.4 }),
    ],
    [
      'a crossfade of signals against each other',
      seam({ leadFrames: 96, fadeInFrames: 96, fadeInShape: 0, fadeOutFrames: 96, fadeOutShape: 0 }),
    ],
    [
      'an early attack, before which the end makes room',
      seam(
        {
          leadFrames: 1680,
          fadeInFrames: 96,
          fadeInShape: 0.2,
          tailFrames: -1584,
          fadeOutFrames: 96,
          fadeOutShape: 0.2,
        },
        'early-attack',
      ),
    ],
    [
      'a pickup over the end',
      seam({ leadFrames: 24_240, fadeInFrames: 96, tailFrames: 0, fadeOutFrames: 480 }, 'pickup'),
    ],
    [
      'an end that rings on',
      seam({ leadFrames: 96, fadeInFrames: 96, tailFrames: 120_000, fadeOutFrames: 480 }, 'let-ring'),
    ],
    ['nothing', NO_SEAM],
  ])('whose seam is %s is played as it says', (_, decided) => {
    const { row, fadeIn, fadeOut } = rowOf(withSeam(decided));
    expect(row[Voice.lead]).toBe(decided.leadFrames);
    expect(row[Voice.tail]).toBe(decided.tailFrames);
    expect(fadeIn).toEqual(crossfadeTables(decided.fadeInFrames, decided.fadeInShape).fadeIn);
    expect(fadeOut).toEqual(crossfadeTables(decided.fadeOutFrames, decided.fadeOutShape).fadeOut);
  });

  test('never reaches beyond what there is round its body', () => {
    const far = seam({ leadFrames: 50_000, tailFrames: 150_000, fadeOutFrames: 480 }, 'let-ring');
    const { row } = rowOf(withSeam(far, { lead: frames(1000), tail: frames(2000) }));
    expect([row[Voice.lead], row[Voice.tail]]).toEqual([1000, 2000]);
  });
});

describe('eight iterations at most sound together', () => {
  /** Iterations whose frames include a position. */
  const sounding = (row: Float64Array, position: number): number => {
    let count = 0;
    for (let k = -100; k <= 100; k++) {
      const body = row[Voice.bodyFrames]!;
      const begins = k * body - row[Voice.lead]!;
      if (position >= begins && position < (k + 1) * body + row[Voice.tail]!) count++;
    }
    return count;
  };

  test('a tail that is longer is cut where the eighth iteration after it comes in, under a fade as long as the body', () => {
    const decided = seam({ leadFrames: 96, fadeInFrames: 96, tailFrames: 192_000, fadeOutFrames: 480 }, 'let-ring');
    const { row, fadeOut } = rowOf(withSeam(decided, { bodyFrames: frames(10_000), bars: bars(1) }));
    expect(row[Voice.lead]! + row[Voice.tail]!).toBe(70_000);
    expect(fadeOut).toEqual(crossfadeTables(frames(10_000), 1).fadeOut);
    for (let at = 0; at < 10_000; at++) expect(sounding(row, at)).toBe(MOST_ITERATIONS);
  });

  test('whatever lead and tail a seam asks for, and a row is as long as its fades', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 5000 }),
        fc.nat({ max: 60_000 }),
        fc.integer({ min: -5000, max: 60_000 }),
        fc.nat({ max: 4000 }),
        (body, lead, tail, at) => {
          const tailFrames = Math.max(tail, 1 - body - lead);
          const fade = Math.min(480, lead + body + tailFrames);
          const decided = seam({ leadFrames: lead, fadeInFrames: fade, tailFrames, fadeOutFrames: fade });
          const { row } = rowOf(withSeam(decided, { bodyFrames: frames(body), bars: bars(1) }));
          const length = row[Voice.lead]! + body + row[Voice.tail]!;
          expect(sounding(row, at % body)).toBeLessThanOrEqual(MOST_ITERATIONS);
          expect(length).toBeGreaterThanOrEqual(1);
          expect(length).toBeGreaterThanOrEqual(Math.max(row[Voice.fadeIn]!, row[Voice.fadeOut]!));
          // What was asked for is what there is, where it is not too much.
          if (lead + tailFrames <= 7 * body) expect(length).toBe(lead + body + tailFrames);
        },
      ),
    );
  });
});

test('each distinct fade table is there once, however many voices use it', () => {
  const shelf = new CurveShelf();
  const faded = seam({ leadFrames: 480, fadeInFrames: 480, fadeInShape: 0.5, fadeOutFrames: 480, fadeOutShape: 0.5 });
  const one = rowOf(withSeam(faded), shelf);
  expect(one.curves).toHaveLength(960);
  const again = rowOf(withSeam(faded), shelf);
  expect(again.row).toEqual(one.row);
  expect(again.curves).toEqual(one.curves);
  const other = rowOf(withSeam({ ...faded, fadeInShape: 0.25 }), shelf);
  expect(other.curves).toHaveLength(960 + 480);
  expect(rowOf(withSeam(NO_SEAM), shelf).curves).toHaveLength(960 + 480);
});

describe('a program', () => {
  const layers = fc
    .sample(layerNamed, { numRuns: 4, seed: 2 })
    .map((make, index): Layer => ({ ...make(`layer-${index}`), leftOut: false, gain: decibels(-index) }));
  const compiled = (change: Partial<Section>): Program => {
    const base = ferrySong();
    const section = { ...base.sections[0]!, bars: bars(4), ...change };
    const song: Song = { ...base, sections: [section] };
    const handles = { voiceOf: (layer: LayerId) => Number(layer.slice(6)), audioOf: () => 1, passesKnown: 0 };
    return compile(song, { type: 'loop', section: section.id }, handles, 1);
  };
  const levels = ({ strips }: Program): readonly number[] =>
    Array.from({ length: strips.length / STRIP_FIELDS }, (_, i) => strips[i * STRIP_FIELDS + Strip.left]!);
  const inDecibels = (...values: readonly number[]) => values.map((value) => gainFromDecibels(decibels(value)));

  test('starts as early as its longest lead', () => {
    const leads = [480, 24_240, 96].map((leadFrames, index): Layer => {
      const of = withSeam(seam({ leadFrames }), { id: asId(`take-${index}`) });
      return { ...layers[index]!, takes: [of], takeInUse: of.id };
    });
    expect(compiled({ layers: leads }).leadFrames).toBe(24_240);
    expect(compiled({ layers: [] }).leadFrames).toBe(0);
  });

  test('plays the take in use', () => {
    const two = [withSeam(null), withSeam(null, { id: asId('take-2'), bodyStart: frames(700_000) })];
    const layer = (used: number): Layer => ({ ...layers[0]!, takes: two, takeInUse: two[used]!.id });
    expect(compiled({ layers: [layer(0)] }).voices[Voice.bodyStart]).toBe(100_928);
    expect(compiled({ layers: [layer(1)] }).voices[Voice.bodyStart]).toBe(700_000);
  });

  test('lowers every layer but the first by what recedes for each after it', () => {
    expect(levels(compiled({ layers, recede: decibels(0) }))).toEqual(inDecibels(0, -1, -2, -3));
    expect(levels(compiled({ layers, recede: decibels(1.5) }))).toEqual(inDecibels(0, -1 - 3, -2 - 1.5, -3));
  });

  test('gives the levels back when a pass is taken back', () => {
    const fewer = { layers: layers.slice(0, 3), recede: decibels(1.5) };
    expect(levels(compiled(fewer))).toEqual(inDecibels(0, -1 - 1.5, -2));
  });

  test('counts a blend as one layer', () => {
    const blend: Layer = { ...layers[0]!, id: asId('layer-9'), blendOf: layers.slice(0, 2) };
    const three = [blend, layers[2]!, layers[3]!];
    expect(levels(compiled({ layers: three, recede: decibels(2) }))).toEqual(inDecibels(0, -2 - 2, -3));
  });

  test('keeps silent what is left out, and lets it count as the layer it is', () => {
    const out = layers.map((layer, index) => (index === 2 ? { ...layer, leftOut: true } : layer));
    expect(levels(compiled({ layers: out, recede: decibels(1) }))).toEqual([
      1,
      inDecibels(-1 - 2)[0],
      0,
      inDecibels(-3)[0],
    ]);
  });
});
