import { describe, expect, test } from 'vitest';
import type { Routing } from '../../../src/core/render/routing.js';
import { channelsOf, Router } from '../../../src/core/render/routing.js';
import { sampleRate } from '../../../src/core/units/index.js';
import { largestStep } from '../../support/signals.js';
import { signal } from '../../support/tones.js';

const RATE = 48_000;
const RAMP = 960;
const LENGTH = 4000;

const reference = signal(LENGTH, (i) => 0.2 - i / 1e5);
const house = [signal(LENGTH, (i) => 0.3 + i / 1e5), signal(LENGTH, (i) => -0.1 + i / 1e5)] as const;
const foldback = [signal(LENGTH, (i) => 0.5 - i / 1e5), signal(LENGTH, (i) => 0.7 - i / 1e5)] as const;

/** Sets a routing at frame 0 and others at theirs; what comes out of so many channels. */
function routed(channels: number, changes: readonly [number, Routing][], block = 128): Float32Array[] {
  const router = new Router(sampleRate(RATE));
  const out = Array.from({ length: channels }, () => new Float32Array(LENGTH).fill(9));
  let next = 0;
  for (let at = 0; at < LENGTH;) {
    while (next < changes.length && (changes[next]?.[0] ?? 0) <= at) router.set(changes[next++]![1], at);
    const count = Math.min(block, (changes[next]?.[0] ?? LENGTH) - at, LENGTH - at);
    const part = (bus: typeof house) => [bus[0].subarray(at), bus[1].subarray(at)] as const;
    router.route(part(house), part(foldback), reference.subarray(at), out, at, at, count);
    at += count;
  }
  return out;
}

const mono = (bus: typeof house): Float32Array => bus[0].map((left, i) => 0.5 * left + 0.5 * (bus[1][i] ?? 0));
const silence = new Float32Array(LENGTH);
const settled = (channels: Float32Array[]): Float32Array[] => channels.map((channel) => channel.subarray(RAMP));

describe('where the two buses leave', () => {
  test('one pair is the foldback, to the bit, unless another routing is set', () => {
    expect(routed(2, [])).toEqual([...foldback]);
    expect(routed(4, [])).toEqual([...foldback, silence, silence]);
  });

  test.each([
    ['left', [mono(foldback), mono(house)]],
    ['right', [mono(house), mono(foldback)]],
  ] as const)('with the foldback on the %s side, each bus is half left, half right', (side, expected) => {
    const out = routed(2, [[0, { layout: 'sides', foldback: side }]]);
    expect(settled(out)).toEqual(settled([...expected]));
  });

  test.each([
    ['first', [...foldback, ...house]],
    ['second', [...house, ...foldback]],
  ] as const)('with the foldback on the %s of two pairs, each bus has a pair, to the bit', (pair, expected) => {
    const out = routed(4, [[0, { layout: 'two-pairs', foldback: pair }]]);
    expect(settled(out)).toEqual(settled([...expected]));
  });

  test.each([
    ['left', 2, { layout: 'side-and-reference', foldback: 'left' }, [mono(foldback), reference]],
    ['right', 2, { layout: 'side-and-reference', foldback: 'right' }, [reference, mono(foldback)]],
    ['first pair', 4, { layout: 'pair-and-reference' }, [...foldback, reference, reference]],
  ] as const)('with the foldback on the %s, the reference has the rest', (_where, channels, routing, expected) => {
    expect(channelsOf(routing)).toBe(channels);
    expect(settled(routed(channels, [[0, routing]]))).toEqual(settled([...expected]));
  });

  test('channels after the fourth are silent, and a single one gets the first', () => {
    const out = routed(6, [[0, { layout: 'two-pairs', foldback: 'first' }]]);
    expect(out.slice(4)).toEqual([silence, silence]);
    expect(routed(1, [])).toEqual([foldback[0]]);
  });

  test.each([
    ['pair', 2],
    ['sides', 2],
    ['two-pairs', 4],
  ] as const)('%s needs %i channels', (layout, expected) => {
    const routing: Routing =
      layout === 'pair'
        ? { layout }
        : layout === 'sides'
          ? { layout, foldback: 'left' }
          : { layout, foldback: 'first' };
    expect(channelsOf(routing)).toBe(expected);
  });
});

describe('a change of routing', () => {
  const there: Routing = { layout: 'two-pairs', foldback: 'second' };

  test('moves in a straight line over 20 ms, without a step', () => {
    const [left] = routed(4, [[1000, there]]);
    const at = 1000 + RAMP / 2;
    expect(left?.[at]).toBeCloseTo(0.5 * house[0][at]! + 0.5 * foldback[0][at]!, 6);
    expect(largestStep(left!, 0, LENGTH)).toBeLessThan(1e-3);
  });

  test('goes on from wherever the last one has got to', () => {
    const [left] = routed(4, [
      [1000, there],
      [1300, { layout: 'pair' }],
    ]);
    expect(largestStep(left!, 0, LENGTH)).toBeLessThan(1e-3);
    expect(left?.subarray(1300 + RAMP)).toEqual(foldback[0].subarray(1300 + RAMP));
  });

  test.each([1, 127, 300])('in blocks of %i gives the same samples', (block) => {
    expect(routed(4, [[1000, there]], block)).toEqual(routed(4, [[1000, there]]));
  });

  test('never adds up to more than the louder of what was and what will be', () => {
    const loud = [signal(LENGTH, () => 0.89), signal(LENGTH, () => 0.89)] as const;
    const router = new Router(sampleRate(RATE));
    router.set({ layout: 'sides', foldback: 'left' }, 0);
    const out = [new Float32Array(LENGTH), new Float32Array(LENGTH)];
    router.route(loud, loud, new Float32Array(LENGTH).fill(0.89), out, 0, 0, LENGTH);
    for (const channel of out) expect(Math.max(...channel)).toBeLessThanOrEqual(Math.fround(0.89) * (1 + 1e-6));
  });
});

test('half of the smallest normal number is silence, not a denormal', () => {
  const tiny = [signal(8, () => 2 ** -126), new Float32Array(8)] as const;
  const router = new Router(sampleRate(RATE));
  router.set({ layout: 'sides', foldback: 'left' }, -RAMP);
  const out = [new Float32Array(8), new Float32Array(8)];
  router.route(tiny, tiny, new Float32Array(8), out, 0, 0, 8);
  expect(out.flatMap((channel) => [...channel])).toEqual(new Array(16).fill(0));
});
