import { describe, expect, test } from 'vitest';
import { seededNoise } from '../support/tones.js';
import { LoadWatch } from '../../src/worklet/load-watch.js';

const RATE = 48_000;
const BLOCK = 128;
const BLOCK_MS = (1000 * BLOCK) / RATE;

/** A clock in whole milliseconds that goes on as told. */
class TickingClock {
  exact = 5000;
  now = (): number => Math.floor(this.exact);
}

/** Blocks that each take `busyMs`, one a block's length, some sooner and some later, as in life. */
function run(watch: LoadWatch, clock: TickingClock, seconds: number, busyMs: number): void {
  const blocks = Math.round((seconds * RATE) / BLOCK);
  const jitter = seededNoise(6);
  const start = clock.exact;
  for (let i = 0; i < blocks; i++) {
    clock.exact = start + i * BLOCK_MS + 0.5 * jitter();
    watch.begin(i * BLOCK);
    clock.exact += busyMs;
    watch.end(BLOCK);
  }
}

describe('the load', () => {
  test('is not estimated from less than two seconds', () => {
    const clock = new TickingClock();
    const watch = new LoadWatch(RATE, 0.01, clock.now);
    run(watch, clock, 1.9, 0.5);
    expect(watch.load).toBeNull();
    run(watch, clock, 0.2, 0.5);
    expect(watch.load).not.toBeNull();
  });

  test.each([0.02, 0.1, 0.37, 0.9])('of %d is found within 0.02, though the clock only knows milliseconds', (part) => {
    const clock = new TickingClock();
    const watch = new LoadWatch(RATE, 0.01, clock.now);
    run(watch, clock, 2.1, part * BLOCK_MS);
    expect(Math.abs((watch.load ?? 0) - part)).toBeLessThan(0.02);
  });

  test('is that of late: what was heavy two seconds ago is forgotten', () => {
    const clock = new TickingClock();
    const watch = new LoadWatch(RATE, 0.01, clock.now);
    run(watch, clock, 2.1, 0.9 * BLOCK_MS);
    run(watch, clock, 4.2, 0.1 * BLOCK_MS);
    expect(watch.load).toBeLessThan(0.12);
  });

  test('is not made negative by a clock that is set back', () => {
    const clock = new TickingClock();
    const watch = new LoadWatch(RATE, 0.01, clock.now);
    watch.begin(0);
    clock.exact -= 3_600_000;
    watch.end(BLOCK);
    run(watch, clock, 2.1, 0.1);
    expect(watch.load).toBeGreaterThanOrEqual(0);
  });
});

describe('a gap between two calls', () => {
  /** Calls after pauses of so many ms. */
  function calls(baseLatency: number, pauses: readonly number[]) {
    const clock = new TickingClock();
    const watch = new LoadWatch(RATE, baseLatency, clock.now);
    const begun = watch.begin(0);
    pauses.forEach((pause, i) => {
      clock.exact += pause;
      watch.begin((i + 1) * BLOCK);
    });
    return { gaps: watch.takeGaps(), count: watch.gapCount, watch, begun };
  }

  // max(24 ms, 1.5 × base latency + 8 ms): measured beforehand, 29 of 30 output gaps were exactly such a pause.
  test.each([
    [0.0027, 23, 0],
    [0.0027, 24, 1],
    [0.01, 23, 0],
    [0.01, 24, 1],
    [0.1, 157, 0],
    [0.1, 158, 1],
  ])('at a base latency of %d s: a pause of %i ms makes %i', (baseLatency, pause, expected) => {
    expect(calls(baseLatency, [10, pause, 10]).gaps).toHaveLength(expected);
  });

  test('is listed with the frame after it, its length and its end, every one, and once', () => {
    const { gaps, watch, begun } = calls(0.01, [3, 40, 3, 60]);
    expect(gaps).toEqual([
      { at: 2 * BLOCK, milliseconds: 40, endedAt: begun + 43 },
      { at: 4 * BLOCK, milliseconds: 60, endedAt: begun + 106 },
    ]);
    expect(watch.takeGaps()).toEqual([]);
  });

  test.each([
    [[40, 40, 40], 1],
    [[40, 200, 200], 1],
    [[40, ...new Array<number>(13).fill(20), 40], 1],
    [[40, ...new Array<number>(14).fill(20), 40], 2],
  ])('within 300 ms of the last is the same disturbance: pauses of %j ms make %i', (pauses, expected) => {
    expect(calls(0.01, pauses).count).toBe(expected);
  });

  test('is none where nobody said what the base latency is', () => {
    expect(calls(NaN, [500]).gaps).toEqual([]);
  });
});
