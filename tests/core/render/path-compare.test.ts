import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { PathCompare } from '../../../src/core/render/path-compare.js';
import type { Shift } from '../../../src/core/render/path-compare.js';
import { InputRing } from '../../../src/core/render/ring.js';
import { frames } from '../../../src/core/units/index.js';
import { noiseAt } from '../../support/signals.js';

const BLOCK = 128;
const SECOND = 48_000;

interface Fault {
  /** Own frame from which it holds. */
  readonly at: number;
  /** Zeros that are put in, or, negative, frames that are dropped. */
  readonly frames: number;
}

interface Played {
  readonly seconds: number;
  readonly faults?: readonly Fault[];
  /** By how many frames the counted frames come later than the own. */
  readonly lag?: number;
  /** What the distance is to begin with. */
  readonly distance?: number;
  readonly signal?: (frame: number) => number;
}

/** A coarse and quiet input: −2 … 2 steps of 16 bits. */
const quiet = (frame: number): number => Math.round(2 * noiseAt(frame, 3)) / 32_768;

/** What the own input brings: the signal, with silence put in and frames dropped. */
function ownInput({ seconds, faults = [], distance = 0, signal = quiet }: Played): Float32Array {
  const own = new Float32Array(seconds * SECOND);
  let shift = distance;
  let silentUntil = 0;
  for (let frame = 0; frame < own.length; frame++) {
    for (const fault of faults) {
      if (fault.at !== frame) continue;
      shift += fault.frames;
      silentUntil = Math.max(silentUntil, frame + fault.frames);
    }
    own[frame] = frame < silentUntil ? 0 : signal(frame - shift);
  }
  return own;
}

function compared(played: Played): { readonly shifts: readonly Shift[]; readonly shift: number | null } {
  const { seconds, lag = 960, signal = quiet } = played;
  const own = ownInput(played);
  const ring = new InputRing(1, frames(4 * SECOND));
  const compare = new PathCompare(ring);
  const shifts: Shift[] = [];
  const piece = new Float32Array(480);
  for (let at = 0; at + BLOCK <= seconds * SECOND; at += BLOCK) {
    while (ring.captured + 480 <= at + BLOCK - lag) {
      piece.forEach((_, i) => (piece[i] = signal(ring.captured + i)));
      ring.write(ring.captured, [piece], 480);
    }
    compare.push([own.subarray(at, at + BLOCK)], at, BLOCK);
    const shift = compare.advance();
    if (shift !== null) shifts.push(shift);
  }
  return { shifts, shift: compare.shift };
}

describe('the two ways of the input', () => {
  test.each([0, 1, 700, 12_000, -900])('are found to lie %i frames apart, and nothing is reported', (distance) => {
    expect(compared({ seconds: 2, distance })).toEqual({ shifts: [], shift: distance });
  });

  test('say to the frame where silence was put in, and how much', () => {
    const at = SECOND + 321;
    const { shifts } = compared({ seconds: 3, faults: [{ at, frames: 1024 }] });
    expect(shifts).toHaveLength(1);
    expect(shifts[0]?.frames).toBe(1024);
    // The signal itself is zero now and then: the first of the zeros can be one that belongs there.
    expect(shifts[0]!.from - at).toBeGreaterThanOrEqual(0);
    expect(shifts[0]!.from - at).toBeLessThan(8);
  });

  test('say where frames were dropped, and how many', () => {
    const { shifts } = compared({ seconds: 3, faults: [{ at: SECOND, frames: -1500 }] });
    expect(shifts.map((shift) => shift.frames)).toEqual([-1500]);
  });

  test('tell in sum what was put in less what was dropped, whatever follows upon what', () => {
    const fault = fc.record({
      at: fc.integer({ min: SECOND, max: 4 * SECOND }),
      frames: fc.integer({ min: -3000, max: 3000 }).filter((n) => n !== 0),
    });
    fc.assert(
      fc.property(fc.array(fault, { minLength: 1, maxLength: 3 }), fc.integer({ min: 0, max: 9000 }), (faults, lag) => {
        const { shifts, shift } = compared({ seconds: 6, faults, lag, distance: 200 });
        const sum = faults.reduce((total, each) => total + each.frames, 0);
        expect(shift).toBe(200 + sum);
        expect(shifts.reduce((total, each) => total + each.frames, 0)).toBe(sum);
      }),
      { numRuns: 12 },
    );
  });

  test('say nothing in silence, and find each other again after it', () => {
    const silent = (frame: number): number => (frame > SECOND && frame < 3 * SECOND ? 0 : quiet(frame));
    const { shifts } = compared({ seconds: 5, signal: silent, faults: [{ at: 2 * SECOND, frames: 1024 }] });
    expect(shifts.map((shift) => shift.frames)).toEqual([1024]);
  });

  test('say nothing of a signal that repeats itself, since the distance could be any of several', () => {
    const periodic = (frame: number): number => noiseAt(frame % 500, 4);
    const { shifts, shift } = compared({ seconds: 3, signal: periodic });
    expect({ shifts, shift }).toEqual({ shifts: [], shift: null });
  });

  test('say nothing where they bring different sounds', () => {
    const ring = new InputRing(1, frames(4 * SECOND));
    const compare = new PathCompare(ring);
    for (let at = 0; at < 3 * SECOND; at += BLOCK) {
      const block = (seed: number) => Float32Array.from({ length: BLOCK }, (_, i) => noiseAt(at + i, seed));
      ring.write(at, [block(1)], BLOCK);
      compare.push([block(2)], at, BLOCK);
      expect(compare.advance()).toBeNull();
    }
    expect(compare.shift).toBeNull();
  });

  test('are compared on all channels: one that is silent hides nothing', () => {
    const ring = new InputRing(2, frames(4 * SECOND));
    const compare = new PathCompare(ring);
    const silence = new Float32Array(BLOCK);
    for (let at = 0; at < SECOND; at += BLOCK) {
      const block = Float32Array.from({ length: BLOCK }, (_, i) => quiet(at + i));
      ring.write(at, [silence, block], BLOCK);
      compare.push([silence, block], at, BLOCK);
      compare.advance();
    }
    expect(compare.shift).toBe(0);
  });
});
