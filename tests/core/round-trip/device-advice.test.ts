import { expect, test } from 'vitest';
import { adviseOn } from '../../../src/core/round-trip/device-advice.js';
import { frames, sampleRate } from '../../../src/core/units/index.js';

const RATE = sampleRate(48_000);

test.each([
  ['what the buffers explain', 3000, 2900, 0, [], 'fine'],
  ['a long buffer that is explained', 21_000, 20_000, 0, [], 'fine'],
  ['exactly 100 ms more', 7800, 3000, 0, [], 'fine'],
  ['a frame beyond', 7801, 3000, 0, [], 'slow'],
  ['slow, and one step', 12_000, 3000, 1, [], 'slow'],
  ['slow, stepping', 12_000, 3000, 2, [], 'wireless-likely'],
  ['stepping, not slow', 3000, 2900, 16, [], 'fine'],
  ['a name that says so', 3000, 2900, 0, ['Bluetooth Headset'], 'wireless-likely'],
  ['a sound profile', 3000, 2900, 0, ['Headphones (A2DP)'], 'wireless-likely'],
  ['the output says so', 3000, 2900, 0, ['Built-in microphone', 'Hands-Free AG Audio'], 'wireless-likely'],
  ['a wired name', 3000, 2900, 0, ['Wired headset', 'Interface 1+2'], 'fine'],
] as const)('%s: %i frames, %i explained, %i steps, %o are %s', (_, roundTrip, explained, steps, names, advice) => {
  const facts = { roundTrip: frames(roundTrip), explained: frames(explained), steps, names };
  expect(adviseOn(facts, RATE)).toBe(advice);
});
