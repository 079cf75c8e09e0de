import { expect, test } from 'vitest';
import { ZeroRuns } from '../../../src/core/render/zero-runs.js';

/** Ones, with zeros in [from, to). */
const withZeros = (length: number, ...runs: readonly [number, number][]): Float32Array =>
  Float32Array.from({ length }, (_, i) => (runs.some(([from, to]) => i >= from && i < to) ? 0 : 1));

function runsOf(channels: readonly Float32Array[], block: number) {
  const runs = new ZeroRuns();
  const length = channels[0]!.length;
  for (let at = 0; at < length; at += block) {
    const count = Math.min(block, length - at);
    runs.push(
      channels.map((channel) => channel.subarray(at, at + count)),
      at,
      count,
    );
  }
  return runs.take();
}

test.each([1, 64, 100, 128, 5000])('runs of 64 zeros and more are told, in blocks of %i', (block) => {
  const samples = withZeros(3000, [10, 73], [200, 264], [1000, 2024]);
  expect(runsOf([samples], block)).toEqual([
    { type: 'zero-run', from: 200, frames: 64 },
    { type: 'zero-run', from: 1000, frames: 1024 },
  ]);
});

test('every channel must be zero', () => {
  const channels = [withZeros(1000, [100, 400]), withZeros(1000, [300, 600])];
  expect(runsOf(channels, 128)).toEqual([{ type: 'zero-run', from: 300, frames: 100 }]);
});

test('a run that has not ended is told when it has', () => {
  const runs = new ZeroRuns();
  runs.push([new Float32Array(500)], 0, 500);
  expect(runs.take()).toEqual([]);
  runs.push([new Float32Array(1).fill(1)], 500, 1);
  expect(runs.take()).toEqual([{ type: 'zero-run', from: 0, frames: 500 }]);
  expect(runs.take()).toEqual([]);
});

test('an input without channels is silent', () => {
  const runs = new ZeroRuns();
  runs.push([], 0, 128);
  runs.push([new Float32Array(1).fill(1)], 128, 1);
  expect(runs.take()).toEqual([{ type: 'zero-run', from: 0, frames: 128 }]);
});

test('of very many, the first sixteen are told', () => {
  const samples = Float32Array.from({ length: 65 * 40 }, (_, i) => (i % 65 === 0 ? 1 : 0));
  expect(runsOf([samples], 128)).toHaveLength(16);
});
