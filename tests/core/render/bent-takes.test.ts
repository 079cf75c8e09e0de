/** Takes whose audio jumps: something moved it under the pass, and every bar sounds where it was played all the same. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { Voice, VOICE_FIELDS } from '../../../src/core/program/program.js';
import { LoopRender } from '../../../src/core/render/render-loop.js';
import { NO_SEAM } from '../../../src/core/seam/seam.js';
import { frames, sampleRate } from '../../../src/core/units/index.js';
import { Performance } from '../../support/performance.js';
import { programOf, RUN_VOICES, type TestLayer } from '../../support/programs.js';
import { greatestError, referenceVoices } from '../../support/reference-mixer.js';
import { largestStep, noiseAt } from '../../support/signals.js';

const RATE = sampleRate(48_000);
/** 4/4 at 300. */
const BAR = 38_400;
const BPM = 300;
/** 10 ms before a line: a joint, or the seam. */
const JOINT = 480;
const RAMP = 480;
/** What is rendered comes out a little later. */
const LIMITED = 100;
const START = 60_000;
const MOST_TOLD = 5;

type Move = readonly [fromBar: number, shift: number];
type Sound = (frame: number) => number;

/** What was played, from its first line on: other steps at every frame. */
const steps: Sound = (frame) => 0.4 * noiseAt(frame, 5);
const tone: Sound = (frame) => 0.3 * Math.sin((2 * Math.PI * 220 * frame) / RATE);

const shiftAt = (moves: readonly Move[], bar: number): number => moves.findLast(([from]) => from <= bar)?.[1] ?? 0;

/**
 * What came in of it: from the line of a move's bar on it lies elsewhere. Where the output had stood still, something
 * else fills the gap; where frames were lost, the end of the bar before is not there.
 */
function recordedOf(sound: Sound, length: number, moves: readonly Move[]): Float32Array<ArrayBuffer> {
  const recorded = Float32Array.from({ length: START + (length + 2) * BAR }, (_, i) => 0.1 * noiseAt(i, 9));
  for (let i = -START; i < 0; i++) recorded[START + i] = sound(i);
  for (let bar = 0; bar < length; bar++) {
    const zero = START + shiftAt(moves, bar);
    for (let i = bar * BAR; i < (bar + 1) * BAR; i++) recorded[zero + i] = sound(i);
  }
  return recorded;
}

interface Bent {
  readonly bars: number;
  readonly startBar: number;
  readonly moves: readonly Move[];
}

const bentTake: fc.Arbitrary<Bent> = fc.integer({ min: 2, max: 6 }).chain((bars) =>
  fc.record({
    bars: fc.constant(bars),
    startBar: fc.nat({ max: 7 }),
    moves: fc
      .uniqueArray(fc.integer({ min: 1, max: bars - 1 }), { minLength: 1, maxLength: 4 })
      .chain((at) =>
        fc.tuple(
          ...at
            .toSorted((a, b) => a - b)
            .map((bar) => fc.tuple(fc.constant(bar), fc.integer({ min: -6000, max: 6000 }))),
        ),
      ),
  }),
);

const layerOf = ({ bars, startBar, moves }: Bent, more: Partial<TestLayer> = {}): TestLayer => ({
  ...{ voice: 7, audio: 7, bodyStart: START, bodyFrames: bars * BAR, bars, startBar, moves },
  ...more,
});

const programWith = (layers: readonly TestLayer[], revision = 1, sectionBars = 4) =>
  programOf({ bpm: BPM, sectionBars, layers }, revision);

/** Frame of the take that belongs at a song position. */
const placeOf = ({ bars, startBar }: Bent, position: number): number => {
  const length = bars * BAR;
  return (((position - startBar * BAR) % length) + length) % length;
};

/** Whether a frame of the take lies in no crossfade, and came in. */
function isPlain({ bars, moves }: Bent, frame: number): boolean {
  if (frame >= bars * BAR - JOINT) return false;
  return moves.every(([bar, shift], index) => {
    const lost = Math.max(0, (moves[index - 1]?.[1] ?? 0) - shift);
    return frame >= bar * BAR || frame < bar * BAR - Math.max(JOINT, lost);
  });
}

/** The first positions in [from, to) of a loop at which something else sounds than what was played there. */
function wrongAt(bent: Bent, sound: Sound, from: number, to: number, heard: (position: number) => number): number[] {
  const wrong: number[] = [];
  for (let at = from; at < to; at++) {
    const place = placeOf(bent, at);
    if (isPlain(bent, place) && heard(at) !== Math.fround(sound(place))) wrong.push(at);
    if (wrong.length === MOST_TOLD) break;
  }
  return wrong;
}

function playing(layer: TestLayer, samples: Float32Array, blockSize?: () => number): Performance {
  const p = new Performance(blockSize === undefined ? {} : { blockSize });
  p.stored.set(7, [[...samples]]);
  p.useProgram(programWith([layer]));
  p.handle({ type: 'play', heard: frames(0) });
  return p;
}

describe('a take whose audio jumps', () => {
  test('sounds where it was played, to the frame, in every bar and round', () => {
    fc.assert(
      fc.property(bentTake, (bent) => {
        const length = bent.bars * BAR;
        const render = new LoopRender(frames(length), RATE);
        const samples = recordedOf(steps, bent.bars, bent.moves);
        render.add(programWith([layerOf(bent)]), [{ audio: 7, channel: 0, start: 0, samples }]);
        const { samples: loop } = render;
        expect(wrongAt(bent, steps, 0, length, (at) => loop[at]!)).toEqual([]);
      }),
      { numRuns: 25 },
    );
  }, 60_000);

  test('does so in the engine, round after round, in any blocks, as the plain mixer says', () => {
    fc.assert(
      fc.property(
        bentTake,
        fc.array(fc.integer({ min: 1, max: 900 }), { minLength: 1, maxLength: 9 }),
        (bent, sizes) => {
          let next = 0;
          const samples = recordedOf(steps, bent.bars, bent.moves);
          const p = playing(layerOf(bent), samples, () => sizes[next++ % sizes.length]!);
          const { origin } = p;
          const rounds = 3 * bent.bars * BAR;
          p.runUntil(origin + rounds + LIMITED);
          expect(wrongAt(bent, steps, RAMP, rounds, (at) => p.left[origin + at]!)).toEqual([]);
          const program = programWith([layerOf(bent)]);
          const voices = referenceVoices(program, () => samples).map((voice) => ({ ...voice, from: voice.start }));
          expect(greatestError(p, [{ origin, voices }], origin + RAMP, origin + rounds)).toBeLessThanOrEqual(1e-7);
          expect(p.all('fault')).toEqual([]);
        },
      ),
      { numRuns: 10 },
    );
  }, 120_000);

  test.each<[string, Bent]>([
    ['the output stood still', { bars: 4, startBar: 0, moves: [[2, 308]] }],
    ['frames were lost', { bars: 4, startBar: 0, moves: [[1, -308]] }],
    ['twice', { bars: 4, startBar: 3, moves: [[1, 70], [3, 5000]] }], // prettier-ignore
  ])('steps no farther at a joint than a crossfade lets it, where %s', (_, bent) => {
    // One tone throughout, so that nothing but the joints can click.
    const samples = Float32Array.from({ length: START + 6 * BAR }, (__, i) => tone(i));
    const p = playing(layerOf(bent), samples);
    const { origin } = p;
    p.runUntil(origin + 12 * BAR);
    // Two tones of one pitch, at gains whose squares add up to 1, of which each moves by √2 in 480 frames at most.
    const own = largestStep(samples, 0, 1000);
    const most = Math.SQRT2 * own;
    const fading = 2 * 0.3 * (Math.SQRT2 / JOINT);
    for (const [bar] of bent.moves) {
      const line = origin + (bent.startBar % 4) * BAR + bar * BAR + 4 * BAR;
      expect(largestStep(p.left, line - 2 * JOINT, line + JOINT)).toBeLessThan(most + fading);
      expect(largestStep(p.left, line + JOINT, line + BAR - JOINT)).toBeGreaterThan(0.9 * own);
    }
  });

  test('lets an attack on the line of a joint stay whole', () => {
    const struck: Sound = (frame) => (frame >= 2 * BAR && frame < 2 * BAR + 4000 ? 0.5 : 0);
    const bent: Bent = { bars: 4, startBar: 0, moves: [[2, 150]] };
    const p = playing(layerOf(bent), recordedOf(struck, 4, bent.moves));
    const { origin } = p;
    p.runUntil(origin + 7 * BAR + LIMITED);
    for (const line of [2, 6].map((bar) => origin + bar * BAR)) {
      expect(p.left.slice(line, line + 4000).every((sample) => sample === 0.5)).toBe(true);
    }
  });

  test.each<[string, Partial<TestLayer>, Move]>([
    ['before the beginning of the recording', { bodyStart: 0, lead: 0 }, [1, -90_000]],
    ['behind its end', {}, [3, 400_000]],
  ])('is silent where it would lie %s', (_, more, move) => {
    const bent: Bent = { bars: 4, startBar: 0, moves: [move] };
    const p = playing(
      layerOf(bent, more),
      Float32Array.from({ length: START + 4 * BAR }, () => 0.25),
    );
    const { origin } = p;
    p.runUntil(origin + 5 * BAR + LIMITED);
    const line = origin + move[0] * BAR;
    expect(p.left.slice(line, line + BAR - JOINT).every((sample) => sample === 0)).toBe(true);
    expect(p.left[origin + BAR / 2]).toBe(0.25);
    expect(p.all('fault')).toEqual([]);
  });
});

describe('a take that turns out to have been moved while it sounds', () => {
  const whole: Bent = { bars: 4, startBar: 0, moves: [] };
  const bent: Bent = { bars: 4, startBar: 0, moves: [[2, 300]] };
  const recorded = recordedOf(steps, 4, bent.moves);

  test('goes on sample for sample in the bars that stay where they are', () => {
    const before = { ...layerOf(whole), seam: NO_SEAM };
    const p = playing(before, recorded);
    const { origin } = p;
    p.runUntil(origin + 4 * BAR + 10_000);
    p.handle({ type: 'use-program', program: programWith([{ ...layerOf(bent), seam: NO_SEAM }], 2) });
    p.runUntil(origin + 9 * BAR + LIMITED);
    expect(wrongAt(bent, steps, 4 * BAR, 9 * BAR, (at) => p.left[origin + at]!)).toEqual([]);
  });

  test('goes over to where its bar was played within a ramp, without a click', () => {
    // Apart by whole periods of the tone: whatever the ramps make of it, only a hole or a jump could step farther.
    const samples = Float32Array.from({ length: START + 6 * BAR }, (_, i) => tone(i - START));
    const p = playing(layerOf(whole), samples);
    const { origin } = p;
    p.runUntil(origin + 6 * BAR + 10_000);
    const changed = p.rendered;
    p.handle({ type: 'use-program', program: programWith([layerOf(bent)], 2) });
    p.runUntil(origin + 8 * BAR + LIMITED);
    const own = largestStep(p.left, origin + BAR, origin + BAR + 2000);
    expect(largestStep(p.left, changed - 100, changed + 2 * RAMP)).toBeLessThan(1.1 * own + 2 * (0.3 / 384));
    for (let at = changed + RAMP; at < origin + 8 * BAR - JOINT; at++) {
      const frame = START + (at - origin - 4 * BAR) + 300;
      expect(p.left[at]).toBe(samples[frame]);
    }
  });

  test('is left out, and heard again, with all of its runs', () => {
    const p = playing(layerOf(bent), recorded);
    const { origin } = p;
    p.runUntil(origin + BAR);
    p.handle({ type: 'use-program', program: programWith([layerOf(bent, { leftOut: true })], 2) });
    p.runUntil(origin + 5 * BAR + LIMITED);
    expect(p.left.slice(origin + BAR + 2 * RAMP, origin + 5 * BAR).every((sample) => sample === 0)).toBe(true);
    p.handle({ type: 'use-program', program: programWith([layerOf(bent)], 3) });
    p.runUntil(origin + 9 * BAR + LIMITED);
    expect(wrongAt(bent, steps, 5 * BAR + 2 * RAMP, 9 * BAR, (at) => p.left[origin + at]!)).toEqual([]);
  });

  test('is silent with all of its runs while another take of it is being recorded', () => {
    const p = playing(layerOf(bent), recorded);
    const { origin } = p;
    p.rules(4, 1, { replaces: 7 });
    p.pressAt(origin + 3 * BAR + BAR / 2 + 9000);
    p.runUntil(origin + 9 * BAR + LIMITED);
    const [begun] = p.all('pass-begun');
    expect(begun).toMatchObject({ replaces: 7 });
    const from = begun!.at + 2 * RAMP;
    expect(p.left.slice(from, begun!.at + 4 * BAR - 5000).every((sample) => sample === 0)).toBe(true);
    expect(p.left.slice(begun!.at - 5000, begun!.at - 1000).some((sample) => sample !== 0)).toBe(true);
  });
});

test('the runs of a layer share its strip, and the first has its id', () => {
  const program = programWith([
    layerOf({ bars: 4, startBar: 0, moves: [[1, 9], [3, 2]] }), // prettier-ignore
    { ...layerOf({ bars: 4, startBar: 0, moves: [] }), voice: 8 },
  ]);
  const column = (of: number) =>
    Array.from({ length: program.voices.length / VOICE_FIELDS }, (_, i) => program.voices[i * VOICE_FIELDS + of]);
  expect(column(Voice.id)).toEqual([7, 7 + RUN_VOICES, 7 + 3 * RUN_VOICES, 8]);
  expect(column(Voice.strip)).toEqual([0, 0, 0, 1]);
});
