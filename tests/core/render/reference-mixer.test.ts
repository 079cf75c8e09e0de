/** The engine's sum against a mixer so plain that it can be read: random programs, random blocks, many rounds. */
import { describe, expect, test } from 'vitest';
import fc from 'fast-check';
import { frames } from '../../../src/core/units/index.js';
import { Performance } from '../../support/performance.js';
import type { ReferencePart } from '../../support/reference-mixer.js';
import { referenceFrame, referenceVoices } from '../../support/reference-mixer.js';
import type { RowGrid, RowVoice } from '../../support/row-programs.js';
import { crossfaded, rising, rowProgram } from '../../support/row-programs.js';
import { firstDifference, noiseAt } from '../../support/signals.js';

const RATE = 48_000;
/** Gains are ramped within 10 ms (engine contract 4). */
const RAMP = 480;
/** So many frames of gain times peak, all voices together, that the limiter is not concerned. */
const LOUDNESS = 0.4;

/** A voice drawn by lot; lengths as parts, so that they fit whatever bar is drawn. */
interface Drawn {
  readonly bars: number;
  readonly lead: number;
  readonly tail: number;
  readonly fadeIn: number;
  readonly fadeOut: number;
  readonly before: number;
  readonly rotated: number;
  readonly ends: number | null;
  readonly level: number;
  readonly pan: number;
  readonly correlation: number;
}

const parts = (from: number, to: number): fc.Arbitrary<number> =>
  fc.integer({ min: 100 * from, max: 100 * to }).map((hundredths) => hundredths / 100);
const part = (): fc.Arbitrary<number> => parts(0, 1);
/** Bodies of 3 and 5 bars over 4; all of them come round together after at most 120 bars. */
const drawnVoice: fc.Arbitrary<Drawn> = fc.record({
  bars: fc.constantFrom(1, 2, 3, 4, 5, 6, 8),
  lead: fc.oneof(fc.constant(0), part()),
  /** In bodies: negative tails end before the line, long ones lie over several rounds. */
  tail: fc.oneof(fc.constant(0), parts(-0.5, 0), parts(0, 5)),
  fadeIn: fc.oneof(fc.constant(0), part()),
  fadeOut: fc.oneof(fc.constant(0), part()),
  before: part(),
  rotated: fc.oneof(fc.constant(0), fc.integer({ min: -7, max: 3 })),
  ends: fc.option(fc.integer({ min: 1, max: 30 }), { freq: 3 }),
  level: part(),
  pan: part(),
  correlation: part(),
});

/** Voice `index` as a row, and the audio it plays: noise, different for every voice, long enough for its tail. */
function rowOf(drawn: Drawn, index: number, barFrames: number, share: number): RowVoice & { audioFrames: number } {
  const bodyFrames = drawn.bars * barFrames;
  const lead = Math.floor(drawn.lead * Math.min(bodyFrames, 2000));
  const tail = Math.floor(drawn.tail * bodyFrames);
  const length = lead + bodyFrames + tail;
  const level = (share * drawn.level) / Math.ceil(length / bodyFrames);
  const bodyStart = lead + Math.floor(drawn.before * 20_000);
  return {
    id: index + 1,
    audio: 100 + index,
    bodyStart,
    bodyFrames,
    lead,
    tail,
    start: Math.max(drawn.rotated, 1 - drawn.bars) * barFrames,
    end: drawn.ends === null ? Infinity : drawn.ends * barFrames,
    fadeIn: rising(Math.floor(drawn.fadeIn * Math.min(length, 900)), drawn.correlation),
    fadeOut: rising(Math.floor(drawn.fadeOut * Math.min(length, 900)), drawn.correlation).reverse(),
    left: level * drawn.pan,
    right: level * (1 - drawn.pan),
    audioFrames: bodyStart + bodyFrames + Math.max(0, tail),
  };
}

function playing(voices: readonly RowVoice[], grid: RowGrid, audio: Map<number, Float32Array>, sizes: readonly number[]) {
  let next = 0;
  const p = new Performance({ rate: RATE, blockSize: () => sizes[next++ % sizes.length]! });
  for (const [handle, samples] of audio) p.stored.set(handle, [[...samples]]);
  const program = rowProgram({ grid, voices });
  p.useProgram(program);
  p.handle({ type: 'play', heard: frames(0) });
  const from = p.rendered;
  const leadFrames = program.leadFrames;
  return { p, program, from, leadFrames };
}

/** The greatest |engine − reference| ÷ Σ(gain · peak) over frames [from, to) of both channels. */
function greatestError(p: Performance, parts: readonly ReferencePart[], from: number, to: number): number {
  const { left, right } = p;
  let greatest = 0;
  for (let frame = from; frame < to; frame++) {
    const expected = referenceFrame(parts, frame, 1);
    const error = Math.max(Math.abs(left[frame]! - expected.left), Math.abs(right[frame]! - expected.right));
    if (error > 0) greatest = Math.max(greatest, error / expected.scale);
  }
  return greatest;
}

describe('the sum of the voices', () => {
  test('is what the plain mixer says, in any blocks, and the same to the bit in every round', () => {
    fc.assert(
      fc.property(
        fc.array(drawnVoice, { minLength: 1, maxLength: 12 }),
        fc.integer({ min: 300, max: 700 }),
        fc.array(fc.integer({ min: 1, max: 900 }), { minLength: 1, maxLength: 9 }),
        (drawn, barFrames, sizes) => {
          const grid = { rate: RATE, barFrames, pulses: 4, beats: 0b1111 };
          const rows = drawn.map((each, index) => rowOf(each, index, barFrames, LOUDNESS / drawn.length));
          const audio = new Map(
            rows.map((row) => [row.audio, Float32Array.from({ length: row.audioFrames }, (_, i) => noiseAt(i, row.id))]),
          );
          const { p, program } = playing(rows, grid, audio, sizes);
          const { origin } = p;
          // When everything has begun, and everything that ends has rung out.
          const settles = rows.map((row) => (row.end === Infinity ? row.start! : row.end!) + row.bodyFrames + row.tail!);
          const steady = origin + Math.max(35 * barFrames, ...settles);
          const round = rows.map((row) => row.bodyFrames / barFrames).reduce(leastCommonMultiple) * barFrames;
          p.runUntil(steady + 2 * round + 1000);

          const voices = referenceVoices(program, (handle) => audio.get(handle)!);
          const parts = [{ origin, voices: voices.map((voice) => ({ ...voice, from: voice.start })) }];
          const underWay = voices.filter((voice) => voice.start < 0);
          // Before line 0 only voices that begin by themselves sound; those under way rise to their gains at the line.
          const fromTop = [{ origin, voices: parts[0]!.voices.filter((voice) => voice.start >= 0) }];
          expect(greatestError(p, fromTop, 0, origin)).toBeLessThanOrEqual(1e-7);
          const risen = origin + (underWay.length > 0 ? RAMP : 0);
          expect(greatestError(p, parts, risen, origin + 35 * barFrames)).toBeLessThanOrEqual(1e-7);
          expect(greatestError(p, parts, steady + round, steady + round + 8 * barFrames)).toBeLessThanOrEqual(1e-7);

          for (const channel of [p.left, p.right, p.house]) {
            const first = channel.slice(steady, steady + round);
            expect(firstDifference(channel.slice(steady + round, steady + 2 * round), first)).toBe(-1);
          }
          expect(p.all('fault')).toEqual([]);

          const other = playing(rows, grid, audio, [128]).p;
          other.runUntil(other.origin + 35 * barFrames);
          const until = 35 * barFrames - 1000;
          for (const side of ['left', 'right', 'house'] as const) {
            const got = p[side].slice(origin, origin + until);
            expect(firstDifference(other[side].slice(other.origin, other.origin + until), got)).toBe(-1);
          }
        },
      ),
      { numRuns: 40 },
    );
  });
});

const greatestCommonDivisor = (a: number, b: number): number => (b === 0 ? a : greatestCommonDivisor(b, a % b));
const leastCommonMultiple = (a: number, b: number): number => (a * b) / greatestCommonDivisor(a, b);

void crossfaded;
