import { describe, expect, test } from 'vitest';
import type { Program } from '../../../src/core/program/program.js';
import { type LoopAudio, LoopRender } from '../../../src/core/render/render-loop.js';
import { NO_SEAM, type Seam } from '../../../src/core/seam/seam.js';
import { frames, sampleRate } from '../../../src/core/units/index.js';
import { Performance } from '../../support/performance.js';
import { type TestLayer, programOf } from '../../support/programs.js';
import { noiseAt } from '../../support/signals.js';

const BAR = 120_000;
const RATE = sampleRate(48_000);
const BEFORE = 60_000;

/** Audio of a take: noise all over, so that every frame that should not sound is heard. */
const audioOf = (audio: number, length: number): Float32Array<ArrayBuffer> =>
  Float32Array.from({ length: BEFORE + length + 2 * BAR }, (_, i) => 0.15 * noiseAt(i, audio));

type Figures = Partial<Record<Exclude<keyof Seam, 'kind' | 'mayOverlap'>, number>>;
const seam = (figures: Figures): Seam => ({ ...NO_SEAM, ...(figures as Partial<Seam>) });

const CROSSFADE = seam({ leadFrames: 480, fadeInFrames: 480, fadeInShape: 0.2, fadeOutFrames: 480, fadeOutShape: 0.2 });
const RING = seam({ leadFrames: 96, fadeInFrames: 96, tailFrames: 150_000, fadeOutFrames: 480 });
const PICKUP = seam({ leadFrames: 31_000, fadeInFrames: 96, tailFrames: 0, fadeOutFrames: 480 });
const EARLY = seam({ leadFrames: 1680, fadeInFrames: 96, tailFrames: -1584, fadeOutFrames: 96 });

function layer(audio: number, bars: number, decided: Seam | null, change: Partial<TestLayer> = {}): TestLayer {
  return {
    voice: audio,
    audio,
    bodyStart: BEFORE,
    bodyFrames: bars * BAR,
    bars,
    tail: 2 * BAR,
    seam: decided,
    ...change,
  };
}

const LAYERS = [
  layer(1, 2, CROSSFADE),
  layer(2, 4, RING, { gain: -3 }),
  // Rings for longer than it lasts: two of its iterations always sound.
  layer(3, 1, RING, { gain: -6, startBar: 0 }),
  layer(4, 4, PICKUP, { startBar: 3 }),
  layer(5, 2, EARLY, { gain: -1.5 }),
  layer(6, 4, null),
  layer(7, 1, CROSSFADE, { leftOut: true }),
];
const LOOP_BARS = 4;
const LENGTH = LOOP_BARS * BAR;

const program = (layers: readonly TestLayer[], recede = 0): Program =>
  programOf({ sectionBars: LOOP_BARS, layers, recede });
const given = (layers: readonly TestLayer[]): LoopAudio[] =>
  layers.map(({ audio, bodyFrames }) => ({ audio, channel: 0, start: 0, samples: audioOf(audio, bodyFrames) }));

/** The second and third time round of what the engine plays. */
function played(of: Program, stored: ReadonlyMap<number, Float32Array>): Float32Array {
  const p = new Performance();
  for (const [audio, samples] of stored) p.stored.set(audio, [Array.from(samples)]);
  p.useProgram(of);
  p.rules(LOOP_BARS);
  p.pressAt(1000);
  const { origin } = p;
  p.runUntil(origin + 3 * LENGTH + BAR);
  expect(p.all('fault')).toEqual([]);
  return p.left.slice(origin + LENGTH, origin + 3 * LENGTH);
}

const largestDifference = (a: Float32Array, b: Float32Array): number => {
  expect(a).toHaveLength(b.length);
  return a.reduce((largest, sample, i) => Math.max(largest, Math.abs(sample - (b[i] ?? NaN))), 0);
};

describe('a loop rendered from layers', () => {
  const render = new LoopRender(frames(LENGTH), RATE);
  for (const each of LAYERS) render.add(program([each]), given([each]));
  const blend = render.samples;

  test('played as a layer, is what its layers were, within 1e-6 at every frame from the second round on, seam included', () => {
    const stored = new Map(LAYERS.map(({ audio, bodyFrames }) => [audio, audioOf(audio, bodyFrames)]));
    const originals = played(program(LAYERS), stored);
    const one: TestLayer = { voice: 88, audio: 88, bodyStart: 0, bodyFrames: LENGTH, bars: LOOP_BARS, seam: NO_SEAM };
    const blended = played(program([one]), new Map([[88, blend]]));
    expect(originals.some((sample) => Math.abs(sample) > 0.3)).toBe(true);
    expect(largestDifference(blended, originals)).toBeLessThan(1e-6);
  });

  test('is the same whether its layers are added one by one or in one program', () => {
    const together = new LoopRender(frames(LENGTH), RATE);
    together.add(program(LAYERS), given(LAYERS));
    expect(largestDifference(together.samples, blend)).toBeLessThan(1e-7);
  });

  test('holds tails that are longer than itself as often as they sound at a time', () => {
    const ringing = layer(3, 1, { ...RING, tailFrames: frames(2.5 * BAR) }, { tail: 2.5 * BAR });
    const whole = Float32Array.from({ length: BEFORE + 4 * BAR }, (_, i) => 0.1 * noiseAt(i, 3));
    const one = new LoopRender(frames(BAR), RATE);
    one.add(program([ringing]), [{ audio: 3, channel: 0, start: 0, samples: whole }]);
    const sum = (i: number): number =>
      [0, 1, 2, 3].reduce((total, round) => {
        const sounds = round < 3 || i < BAR / 2 - 480;
        return total + (sounds ? (whole[BEFORE + i + round * BAR] ?? 0) : 0);
      }, 0);
    const rendered = one.samples;
    // Away from the fades at the beginning of an iteration and at the end of its tail.
    for (const i of [0, 1000, BAR / 2 - 500, BAR / 2 + 1, BAR - 500]) expect(rendered[i]).toBe(Math.fround(sum(i)));
  });

  test('plays what its program says of gains: those that recede, too', () => {
    const [, second, third] = LAYERS as [TestLayer, TestLayer, TestLayer];
    const receding = new LoopRender(frames(LENGTH), RATE);
    receding.add(program([third, second, third], 6), given([third, second]));
    const plain = new LoopRender(frames(LENGTH), RATE);
    const lowered = { ...second, gain: (second.gain ?? 0) - 6 };
    plain.add(program([third, lowered, third]), given([third, second]));
    expect(largestDifference(receding.samples, plain.samples)).toBeLessThan(1e-7);
  });
});

describe('a loop that cannot be rendered', () => {
  test('says so where a period does not divide it', () => {
    const three = layer(1, 3, CROSSFADE);
    expect(() => {
      new LoopRender(frames(LENGTH), RATE).add(program([three]), given([three]));
    }).toThrow('Got a period of 360000 frames when expected one that divides 480000.');
  });

  test('says so where audio is missing', () => {
    const ringing = layer(1, 4, RING);
    const short = given([ringing]).map((part) => ({ ...part, samples: part.samples.slice(0, BEFORE + LENGTH) }));
    expect(() => {
      new LoopRender(frames(LENGTH), RATE).add(program([ringing]), short);
    }).toThrow(/lacks \d+ frames of audio/);
  });
});
