import { describe, expect, test } from 'vitest';
import { ClockJumps } from '../../src/sound/clock-jumps.js';

const SYSTEM = 1_700_000_000_000;

/** Readings of the performance clock and of the system's, ms after the first; which of them say that they parted. */
function jumps(...readings: readonly [number, number][]): boolean[] {
  const clocks = new ClockJumps();
  return readings.map(([performanceMs, systemMs]) => clocks.read(performanceMs, SYSTEM + systemMs));
}

describe('the two clocks', () => {
  test('part where one stood still while the machine slept', () => {
    expect(jumps([0, 0], [20, 3_600_000], [40, 3_600_020])).toEqual([false, true, false]);
  });

  test.each([501, -501])('part where the system clock was set by %i ms', (set) => {
    expect(jumps([0, 0], [20, 20 + set])).toEqual([false, true]);
  });

  test('do not part however long nobody reads them, nor where one is pulled gently', () => {
    expect(jumps([0, 0], [60_000, 60_000], [61_000, 61_200], [62_000, 62_400])).not.toContain(true);
  });
});
