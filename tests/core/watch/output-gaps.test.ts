import { describe, expect, test } from 'vitest';
import type { Disturbance } from '../../../src/core/watch/history.js';
import { frames, milliseconds } from '../../../src/core/units/index.js';
import { PlainClocks, type PlainGap, ROUND_TRIP } from '../../support/plain-clocks.js';

const GAP: PlainGap = { endsMs: 20_000, pauseMs: 40, frames: 1000 };

/** What is known of the gaps, without the opening. */
const seenBy = ({ watch }: PlainClocks): readonly Disturbance[] =>
  watch.history().disturbances.filter(({ kind }) => kind !== 'opening');

describe('a gap in the output', () => {
  test('that stands alone is read, good to half a millisecond, a base latency before the late call', () => {
    const clocks = new PlainClocks([GAP]).measure(16).runTo(23_000);
    const [gap, ...others] = seenBy(clocks);
    expect(others).toEqual([]);
    expect(gap).toMatchObject({ kind: 'output-gap', shift: 1000, how: 'read', within: 24 });
    const at = clocks.frameOf(GAP) - 480 + ROUND_TRIP;
    expect(gap?.fromFrame).toBeLessThanOrEqual(at);
    expect(gap?.toFrame).toBeGreaterThanOrEqual(at + 1000);
    expect((gap?.toFrame ?? 0) - (gap?.fromFrame ?? 0)).toBeLessThan(2 * 480 + 1000 + 50);
  });

  test('is open until both clocks have been read for two seconds after it, and the late readings have come', () => {
    const clocks = new PlainClocks([GAP]).runTo(22_500);
    expect(seenBy(clocks)).toMatchObject([{ kind: 'being-read', shift: null, how: 'unknown' }]);
    expect(seenBy(clocks.runTo(22_800))).toMatchObject([{ kind: 'output-gap' }]);
  });

  test('is read however fast the two clocks drift apart from each other, up to what crystals do', () => {
    const clocks = new PlainClocks([GAP]);
    const watch = clocks.watch;
    for (let ms = 0; ms < 23_000; ms += 20) {
      const [lag, slow] = [ms >= 20_000 ? 1000 : 0, 0.0048 * ms];
      watch.observe({ type: 'output-clock', at: milliseconds(ms), heard: 48 * ms + slow - lag });
      watch.observe({ type: 'call-phase', at: milliseconds(ms), behind: lag - slow });
      if (ms === 20_000) clocks.runTo(20_005, false);
    }
    const [gap] = seenBy(clocks);
    expect(Math.abs((gap?.shift ?? 0) - 1000)).toBeLessThanOrEqual(2);
  });

  test.each<[string, readonly PlainGap[], string, number | null]>([
    ['nearer than 0.3 s to another is one with it', [GAP, { ...GAP, endsMs: 20_200 }], 'output-gap', 2000],
    ['0.5 s from another is unsure, and so is the other', [GAP, { ...GAP, endsMs: 20_540 }], 'gaps-together', null],
    ['that the calls show otherwise by more than 1 ms is unsure', [{ ...GAP, byCalls: 940 }], 'estimates-apart', null],
    ['that the calls show otherwise by less is read', [{ ...GAP, byCalls: 960 }], 'output-gap', 1000],
    ['longer than the pause that made it is unsure', [{ ...GAP, pauseMs: 18 }], 'estimates-apart', null],
    ['of less than nothing is unsure', [{ ...GAP, frames: -60 }], 'estimates-apart', null],
    ['of nothing has moved nothing', [{ ...GAP, frames: 0 }], 'bridged', 0],
    ['under a quarter of a millisecond counts as none', [{ ...GAP, frames: 11 }], 'bridged', 0],
  ])('%s', (_, gaps, kind, shift) => {
    const seen = seenBy(new PlainClocks(gaps).measure(16).runTo(24_000));
    expect(seen.map((each) => [each.kind, each.shift])).toEqual(seen.map(() => [kind, shift]));
    expect(seen).toHaveLength(kind === 'gaps-together' ? 2 : 1);
  });

  test('that was read becomes unsure when a late message tells of another beside it', () => {
    const clocks = new PlainClocks([GAP]).runTo(23_000);
    expect(seenBy(clocks)).toMatchObject([{ kind: 'output-gap' }]);
    const at = { at: frames(clocks.frameOf(GAP)), endedAt: milliseconds(20_600) };
    clocks.watch.observe({ type: 'call-pause', milliseconds: milliseconds(30), ...at });
    clocks.runTo(24_000);
    expect(seenBy(clocks).map(({ kind }) => kind)).toEqual(['gaps-together', 'gaps-together']);
  });

  test('without readings round it is unsure', () => {
    const clocks = new PlainClocks([GAP]).runTo(19_800).runTo(21_000, false).runTo(24_000);
    expect(seenBy(clocks)).toMatchObject([{ kind: 'too-few-readings', shift: null }]);
  });

  test('is not looked for in a pause that the output is known to bridge', () => {
    const clocks = new PlainClocks([{ ...GAP, frames: 0 }], { bridged: milliseconds(41) }).runTo(24_000);
    expect(seenBy(clocks)).toEqual([]);
  });
});
