import { describe, expect, test } from 'vitest';
import { PhaseWatch } from '../../src/worklet/phase-watch.js';

const RATE = 48_000;
const BLOCK = 128;

/** Bursts of blocks, each called by the clock of the device, which the system's clock shows in whole milliseconds. */
function bursts(watch: PhaseWatch, from: number, count: number, blocks: number, lateMs = 0): void {
  for (let i = from; i < from + count; i++) {
    const now = 1_000_000 + Math.floor((i * blocks * BLOCK * 1000) / RATE + lateMs + 100);
    for (let b = 0; b < blocks; b++) watch.take(now, (i * blocks + b) * BLOCK);
  }
}

describe('the phase of the calls', () => {
  test.each([4, 37])('is the same while the device calls in time, in bursts of %i blocks', (blocks) => {
    const watch = new PhaseWatch(RATE, (blocks * BLOCK) / RATE);
    bursts(watch, 0, 200, blocks);
    const first = watch.takePhase();
    bursts(watch, 200, 200, blocks);
    const second = watch.takePhase();
    // The clock's ticks are 48 frames; the mean of 200 is good to a few.
    expect(Math.abs(second!.behind - first!.behind)).toBeLessThan(10);
  });

  test('grows by the frames that the output fell behind', () => {
    const watch = new PhaseWatch(RATE, 0.01);
    bursts(watch, 0, 200, 4);
    const before = watch.takePhase();
    bursts(watch, 200, 200, 4, 20);
    const after = watch.takePhase();
    expect(after!.behind - before!.behind).toBeGreaterThan(950);
    expect(after!.behind - before!.behind).toBeLessThan(970);
  });

  test('is read at the first call of a burst alone, and says when the last began', () => {
    const watch = new PhaseWatch(RATE, 0.01);
    watch.take(1000, 0);
    watch.take(1001, 128);
    watch.take(1010, 256);
    watch.take(1011, 384);
    // The first 0 frames behind, the second 10 ms less 256 frames.
    expect(watch.takePhase()).toEqual({ at: 1010, behind: (0 + 480 - 256) / 2 });
    watch.take(1012, 512);
    expect(watch.takePhase()).toBeNull();
  });
});
