/** The engine's sum against a mixer so plain that it can be read: random programs, random blocks, many rounds. */
import { describe, expect, test } from 'vitest';
import fc from 'fast-check';
import type { Program } from '../../../src/core/program/program.js';
import { frames } from '../../../src/core/units/index.js';
import { audibleVoices, audioOf, drawnRun, drawnVoice } from '../../support/drawn-voices.js';
import { Performance } from '../../support/performance.js';
import { greatestError, referenceVoices } from '../../support/reference-mixer.js';
import type { RowVoice } from '../../support/row-programs.js';
import { crossfaded, falling, rising, rowProgram } from '../../support/row-programs.js';
import { firstDifference } from '../../support/signals.js';

const RATE = 48_000;
/** Gains are ramped within 10 ms (engine contract 4). */
const RAMP = 480;
/** How far engine and reference may be apart, in Σ(gain · peak) (engine contract 8). */
const AGREE = 1e-7;

/** Plays a program from the top, in blocks of the sizes given, over and over. */
function playing(program: Program, audio: ReadonlyMap<number, Float32Array>, sizes: readonly number[]): Performance {
  let next = 0;
  const p = new Performance({ rate: RATE, blockSize: () => sizes[next++ % sizes.length]! });
  for (const [handle, samples] of audio) p.stored.set(handle, [[...samples]]);
  p.useProgram(program);
  p.handle({ type: 'play', heard: frames(0) });
  return p;
}

describe('the sum of the voices', () => {
  test('is what the plain mixer says, in any blocks, and the same to the bit in every round', () => {
    fc.assert(
      fc.property(
        fc.array(fc.oneof(drawnVoice, drawnRun), { minLength: 1, maxLength: 12 }),
        fc.integer({ min: 300, max: 700 }),
        fc.array(fc.integer({ min: 1, max: 900 }), { minLength: 1, maxLength: 9 }),
        (drawn, barFrames, sizes) => {
          const rows = audibleVoices(drawn, barFrames, 1);
          const audio = audioOf(rows);
          const program = rowProgram({ grid: { rate: RATE, barFrames, pulses: 4, beats: 0b1111 }, voices: rows });
          const p = playing(program, audio, sizes);
          const { origin } = p;
          const begun = origin + 35 * barFrames;
          // From here on everything has begun, and everything that ends has rung out.
          const steady = Math.max(begun, ...rows.map((row) => origin + settledAt(row)));
          const round =
            rows.map((row) => (row.period ?? row.bodyFrames) / barFrames).reduce(leastCommonMultiple) * barFrames;
          p.runUntil(steady + 2 * round + 1000);

          const voices = referenceVoices(program, (handle) => audio.get(handle)!);
          const all = [{ origin, voices: voices.map((voice) => ({ ...voice, from: voice.start })) }];
          // Before line 0 only voices that begin by themselves sound; those under way rise to their gains at the line.
          const beginning = [{ origin, voices: all[0]!.voices.filter((voice) => voice.start >= 0) }];
          const risen = origin + (voices.some((voice) => voice.start < 0) ? RAMP : 0);
          expect(greatestError(p, beginning, 0, origin)).toBeLessThanOrEqual(AGREE);
          expect(greatestError(p, all, risen, begun)).toBeLessThanOrEqual(AGREE);
          expect(greatestError(p, all, steady + round, steady + round + 8 * barFrames)).toBeLessThanOrEqual(AGREE);

          for (const channel of [p.left, p.right, p.house]) {
            const first = channel.slice(steady, steady + round);
            expect(firstDifference(channel.slice(steady + round, steady + 2 * round), first)).toBe(-1);
          }
          expect(p.all('fault')).toEqual([]);

          const other = playing(program, audio, [128]);
          other.runUntil(other.origin + begun - origin);
          const length = begun - origin - 1000;
          for (const side of ['left', 'right', 'house'] as const) {
            const got = p[side].slice(origin, origin + length);
            expect(firstDifference(other[side].slice(other.origin, other.origin + length), got)).toBe(-1);
          }
        },
      ),
      { numRuns: 30 },
    );
  }, 60_000);

  test('of 64 voices that all stand at their peak is right to 1e-7 of it', () => {
    const audio = new Map([[1, new Float32Array(4000).fill(1)]]);
    const gain = Math.fround(0.7 / 64);
    const voices = Array.from({ length: 64 }, (_, i) => ({ ...plain(1000), id: 1 + i, left: gain * (1 - i / 100) }));
    const program = rowProgram({ grid: GRID, voices });
    const p = playing(program, audio, [128]);
    p.runUntil(p.origin + 5000);
    const parts = [{ origin: p.origin, voices: referenceVoices(program, () => audio.get(1)!) }];
    expect(greatestError(p, parts, p.origin + 1000, p.origin + 4000)).toBeLessThanOrEqual(AGREE);
  });
});

describe('a seam, as it comes out', () => {
  // Source: check values 3b, matched gains on a linear base (Fink, Holters, Zölzer, DAFx-16).
  test.each([
    [1, 0.5],
    [0.75, 0.534522],
    [0.5, 0.57735],
    [0.25, 0.632456],
    [0, 0.707107],
  ])('for a correlation of %f has gains of %f in the middle', (r, middle) => {
    expect(gainsAlone(481, r, 'rising')(240)).toBeCloseTo(middle, 6);
    expect(gainsAlone(481, r, 'falling')(240)).toBeCloseTo(middle, 6);
  });

  test.each([
    [1, 0.25, 0.75],
    [0.5, 0.27735, 0.83205],
    [0, 0.316228, 0.948683],
  ])('for a correlation of %f has gains of %f and %f at a quarter', (r, incoming, outgoing) => {
    expect(gainsAlone(482, r, 'rising')(120)).toBeCloseTo(incoming, 6);
    expect(gainsAlone(482, r, 'falling')(120)).toBeCloseTo(outgoing, 6);
  });

  // Source: check values 3a, level in the middle of the fade, dB re one signal; equal power on equal signals.
  test.each([
    ['equal gain', 1, 0],
    ['equal power', 0, 3.01],
  ])('of %s leaves equal signals at %f · r at %f dB in the middle', (_law, r, expected) => {
    const p = looped(new Float32Array(5000).fill(0.4), crossfaded(481, r), 481);
    const level = 20 * Math.log10(p.left[p.origin + 4 * BODY - 241]! / Math.fround(0.4));
    expect(level).toBeCloseTo(expected, 2);
  });

  // Source: check values 3, equal gain: "constant 1.0 through the fade stays 1.0", to 1e-7; here at 0.4 of full scale.
  test('of equal gain keeps what is constant constant', () => {
    const p = looped(new Float32Array(5000).fill(0.4), crossfaded(480, 1), 480);
    const levels = p.left.slice(p.origin, p.origin + 8 * BODY);
    expect(Math.max(...levels) - 0.4).toBeLessThanOrEqual(0.4e-7);
    expect(0.4 - Math.min(...levels)).toBeLessThanOrEqual(0.4e-7);
  });

  /** What one side of a seam does to 0.5 while the other side is silent: the gain of frame i of the fade. */
  function gainsAlone(length: number, r: number, side: 'rising' | 'falling'): (i: number) => number {
    const audio = new Float32Array(5000).fill(0.5, side === 'rising' ? 0 : 1000, side === 'rising' ? 1000 : 5000);
    const p = looped(audio, { lead: length, tail: 0, fadeIn: rising(length, r), fadeOut: falling(length, r) }, 1000);
    return (i) => p.left[p.origin + 4 * BODY - length + i]! / 0.5;
  }
});

const GRID = { rate: RATE, barFrames: 1000, pulses: 4, beats: 0b1111 };
const BODY = 2000;
const plain = (bodyStart: number) => ({ id: 1, audio: 1, bodyStart, bodyFrames: BODY });

/** Eight rounds of a body of 2,000 frames. */
function looped(samples: Float32Array, seam: ReturnType<typeof crossfaded>, bodyStart: number): Performance {
  const program = rowProgram({ grid: GRID, voices: [{ ...plain(bodyStart), ...seam }] });
  const p = playing(program, new Map([[1, samples]]), [128]);
  p.runUntil(p.origin + 9 * BODY);
  return p;
}

const settledAt = ({ start = 0, end = Infinity, bodyFrames, tail = 0 }: RowVoice): number =>
  (end === Infinity ? start : end) + bodyFrames + tail;
const greatestCommonDivisor = (a: number, b: number): number => (b === 0 ? a : greatestCommonDivisor(b, a % b));
const leastCommonMultiple = (a: number, b: number): number => (a * b) / greatestCommonDivisor(a, b);
