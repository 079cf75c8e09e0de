import { describe, expect, test } from 'vitest';
import { InputRing } from '../../../src/core/render/ring.js';
import { frames } from '../../../src/core/units/index.js';

/** A channel whose samples are their own frame numbers. */
const numbered = (from: number, count: number): Float32Array =>
  Float32Array.from({ length: count }, (_, i) => from + i);

function held(ring: InputRing, from: number, count: number, channel = 0): number[] {
  const into = new Float32Array(count);
  ring.read(channel, from, count, into, 0);
  return [...into];
}

describe('the input ring', () => {
  test('gives back each frame under the number it was written with', () => {
    const ring = new InputRing(1, frames(64));
    for (let at = 0; at < 200; at += 10) ring.write(at, [numbered(at, 10)], 10);
    expect(ring.captured).toBe(200);
    expect(ring.oldest).toBe(136);
    expect(held(ring, 136, 64)).toEqual([...numbered(136, 64)]);
  });

  test('has nothing before its oldest frame, and nothing that has not come in', () => {
    const ring = new InputRing(1, frames(16));
    ring.write(0, [numbered(1, 20)], 20);
    expect(held(ring, 2, 4)).toEqual([0, 0, 5, 6]);
    expect(held(ring, 18, 4)).toEqual([19, 20, 0, 0]);
  });

  test('takes silence for frames that were left out, and says how many', () => {
    const ring = new InputRing(1, frames(64));
    expect(ring.write(0, [numbered(1, 10)], 10)).toBe(0);
    expect(ring.write(13, [numbered(14, 10)], 10)).toBe(3);
    expect(held(ring, 8, 8)).toEqual([9, 10, 0, 0, 0, 14, 15, 16]);
  });

  test('is silent all over where more was left out than it holds', () => {
    const ring = new InputRing(1, frames(16));
    ring.write(0, [numbered(1, 16)], 16);
    expect(ring.write(1000, [numbered(7, 1)], 1)).toBe(984);
    expect(held(ring, 985, 16)).toEqual([...Array<number>(15).fill(0), 7]);
  });

  test('keeps what is here when it comes again', () => {
    const ring = new InputRing(1, frames(64));
    ring.write(0, [numbered(1, 10)], 10);
    ring.write(6, [numbered(500, 10)], 10);
    expect(ring.captured).toBe(16);
    expect(held(ring, 8, 4)).toEqual([9, 10, 504, 505]);
  });

  test('takes silence for a channel that is missing', () => {
    const ring = new InputRing(2, frames(16));
    ring.write(0, [numbered(1, 16), numbered(1, 16)], 16);
    ring.write(16, [numbered(17, 4)], 4);
    expect(held(ring, 14, 6, 1)).toEqual([15, 16, 0, 0, 0, 0]);
  });

  test.each([-40, -3, 5, 100])('gives every frame a number greater by %i, and goes on from there', (by) => {
    const ring = new InputRing(1, frames(64));
    ring.restart(40);
    ring.write(40, [numbered(40, 30)], 30);
    ring.renumber(by);
    ring.write(70 + by, [numbered(70, 30)], 30);
    expect(ring.captured).toBe(100 + by);
    expect(ring.oldest).toBe(40 + by);
    expect(held(ring, 38 + by, 62)).toEqual([0, 0, ...numbered(40, 60)]);
  });

  test('knows what is on its way, and never less than what is here', () => {
    const ring = new InputRing(1, frames(64));
    ring.expect(50);
    ring.write(0, [numbered(0, 20)], 20);
    expect([ring.captured, ring.due]).toEqual([20, 50]);
    ring.write(20, [numbered(0, 60)], 60);
    expect([ring.captured, ring.due]).toEqual([80, 80]);
  });
});
