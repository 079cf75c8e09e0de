import { describe, expect, test } from 'vitest';
import { frames, milliseconds } from '../../../src/core/units/index.js';
import type { CaptureKind, Disturbance } from '../../../src/core/watch/history.js';
import type { Observation } from '../../../src/core/watch/observations.js';
import { RoundTripWatch } from '../../../src/core/watch/round-trip-watch.js';
import { measurementAt, PlainClocks, type PlainGap, RATE, ROUND_TRIP, setupOf } from '../../support/plain-clocks.js';

const GAP: PlainGap = { endsMs: 20_000, pauseMs: 40, frames: 1000 };
const withoutOpening = ({ kind }: Disturbance): boolean => kind !== 'opening';

function seen(capture: CaptureKind, ...observations: readonly Observation[]): readonly Disturbance[] {
  const watch = new RoundTripWatch(setupOf({ capture }));
  watch.observe(measurementAt(16));
  for (const each of observations) watch.observe(each);
  return watch.history().disturbances.filter(withoutOpening);
}

const zeros = (seconds: number, length: number): Observation => ({
  type: 'zero-run',
  from: frames(seconds * RATE),
  frames: frames(length),
});

describe('the input', () => {
  test.each<[string, number, number | null]>([
    ['1,024 zeros are silence that was inserted', 1024, 1024],
    ['and so are twice as many, with zeros of the input beside them', 2051, 2048],
    ['a few zeros are the input itself', 130, null],
    ['and so is another number of them', 1500, null],
    ['and so is a silence of seconds', 96 * 1024, null],
  ])('%s', (_, length, shift) => {
    expect(seen('processor', zeros(20, length)).map((each) => [each.shift, each.how])).toEqual(
      shift === null ? [] : [[shift, 'exact']],
    );
  });

  test('that is silent at times cannot tell what was inserted', () => {
    expect(seen('processor', zeros(20, 5000), zeros(25, 1024))).toMatchObject([{ kind: 'input-unclear', shift: null }]);
    expect(seen('processor', zeros(20, 5000), zeros(55, 1024))).toMatchObject([{ kind: 'silence-inserted' }]);
  });

  test('is compared to the frame where it has another way in, and zeros mean nothing then', () => {
    const shift = { type: 'path-shift', from: frames(960_000), to: frames(961_152), frames: frames(-37) } as const;
    expect(seen('processor-compared', zeros(20, 1024), shift)).toEqual([
      { kind: 'input-shifted', fromFrame: 960_000, toFrame: 961_152, shift: -37, how: 'exact', within: 0 },
    ]);
    expect(seen('track', zeros(20, 1024), shift)).toEqual([]);
    expect(seen('processor-compared', { ...shift, frames: null })).toMatchObject([{ kind: 'input-unclear' }]);
  });

  test('that cannot be compared is not trusted to hold more than 2,048 frames', () => {
    const gaps = [1000, 900, 900].map((length, i) => ({ endsMs: 20_000 + 4000 * i, pauseMs: 40, frames: length }));
    const kinds = (capture: CaptureKind): readonly string[] => {
      const { watch } = new PlainClocks(gaps, { capture }).measure(16).runTo(32_000);
      return watch.history().disturbances.map(({ kind }) => kind);
    };
    expect(kinds('processor')).toEqual(['opening', 'output-gap', 'output-gap', 'input-full']);
    expect(kinds('processor-compared')).toEqual(['opening', 'output-gap', 'output-gap', 'output-gap']);
  });
});

describe('the engine', () => {
  const lead = (seconds: number, ahead: number): Observation => ({
    type: 'context-lead',
    at: frames(seconds * RATE),
    frames: frames(ahead),
  });

  test('that was not called for some blocks falls behind the track, not behind its own input', () => {
    const leads = [lead(17, 7680), lead(20, 7680 + 384)];
    expect(seen('track', ...leads)).toMatchObject([{ kind: 'calls-missed', shift: 384, how: 'exact' }]);
    expect(seen('processor', ...leads)).toMatchObject([{ kind: 'calls-missed', shift: 0, how: 'exact' }]);
  });

  test('has missed nothing where the frame count of the context freezes and catches up', () => {
    expect(seen('track', lead(17, 7680), lead(18, -12_000), lead(19, 7168), lead(20, 7680))).toEqual([]);
  });
});

describe('a measurement', () => {
  test('counts only from 15 s after the opening on', () => {
    expect(new PlainClocks().measure(14.9).watch.history().measurements).toEqual([]);
    expect(new PlainClocks().measure(15).watch.history().measurements).toHaveLength(1);
  });

  test.each(['resumed', 'input-reopened', 'clock-jumped'] as const)('counts only from 15 s after "%s" on', (kind) => {
    const history = new PlainClocks().measure(16).break(kind, 30).measure(44).measure(45.5).watch.history();
    expect(history.measurements.map(({ from }) => from / RATE)).toEqual([16, 45.5]);
  });

  test('does not count where a gap came into it', () => {
    const clocks = new PlainClocks([GAP]).measure(16).measure(19.5).runTo(24_000);
    expect(clocks.watch.history().measurements).toHaveLength(1);
  });

  test('says how far the round trip moved in the one place that was not known', () => {
    const gaps = [GAP, { ...GAP, endsMs: 30_000, byCalls: 0 }];
    const { watch } = new PlainClocks(gaps)
      .measure(16)
      .runTo(40_000)
      .measure(40, ROUND_TRIP + 2007);
    expect(watch.history().disturbances.filter(withoutOpening)).toMatchObject([
      { kind: 'output-gap', shift: 1000, how: 'read', within: 24 },
      { kind: 'estimates-apart', shift: 1007, how: 'read', within: 24 },
    ]);
  });

  test('does not lay on such a place what it cannot have done', () => {
    // A pause of 40 ms makes a gap of 1,920 frames at most.
    const { watch } = new PlainClocks([{ ...GAP, byCalls: 0 }])
      .measure(16)
      .runTo(30_000)
      .measure(30, ROUND_TRIP + 2500);
    expect(watch.history().disturbances.filter(withoutOpening)).toMatchObject([{ kind: 'unseen', shift: 2500 }]);
  });

  test('corrects a single gap that was read', () => {
    const { watch } = new PlainClocks([GAP])
      .measure(16)
      .runTo(30_000)
      .measure(30, ROUND_TRIP + 1011);
    expect(watch.history().disturbances.filter(withoutOpening)).toMatchObject([
      { kind: 'output-gap', shift: 1011, how: 'exact', within: 0 },
    ]);
  });

  test.each([
    ['where nothing was seen', [], 2],
    ['where what was seen explains less', [GAP], 1026],
  ])('makes everything since the one before it unsure %s', (_, gaps, moved) => {
    const { watch } = new PlainClocks(gaps)
      .measure(16)
      .runTo(30_000)
      .measure(30, ROUND_TRIP + moved);
    expect(watch.history().disturbances.filter(withoutOpening)).toEqual([
      { kind: 'unseen', fromFrame: 17 * RATE, toFrame: 30 * RATE, shift: moved, how: 'unknown', within: 0 },
    ]);
  });
});

describe('the watch', () => {
  test('gives the same history until something changes', () => {
    const clocks = new PlainClocks([GAP]).measure(16).runTo(19_000);
    const before = clocks.watch.history();
    clocks.runTo(19_900);
    expect(clocks.watch.history()).toBe(before);
    expect(clocks.runTo(20_100).watch.history()).not.toBe(before);
  });

  test('keeps at most some thousand entries, and claims nothing of what it has put together', () => {
    const watch = new RoundTripWatch(setupOf());
    for (let i = 0; i < 5000; i++) {
      const at = { at: frames(i * RATE), endedAt: milliseconds(i * 1000) };
      watch.observe({ type: 'call-pause', milliseconds: milliseconds(40), ...at });
    }
    const { disturbances } = watch.history();
    expect(disturbances).toHaveLength(2000);
    expect(disturbances[0]).toMatchObject({ kind: 'long-ago', shift: null });
    expect(disturbances[0]?.toFrame).toBeGreaterThan(2990 * RATE);
  });
});
