/**
 * The watch against machines whose round trip steps. How a machine behaves follows measurements on one machine (48 kHz,
 * Chromium); how often things happen, and every share that is asked for here, are our own.
 */
import { describe, expect, test } from 'vitest';
import type { CaptureKind } from '../../../src/core/watch/history.js';
import type { Observation } from '../../../src/core/watch/observations.js';
import { RoundTripWatch } from '../../../src/core/watch/round-trip-watch.js';
import { judge, nothingJudged, type Judgement, watchOf } from '../../support/judged-passes.js';
import { type MachineOptions, SteppingMachine } from '../../support/stepping-machine.js';
import { seededNoise } from '../../support/tones.js';

const SEEDS = [11, 12, 13];
const SECONDS = 600;
const every = (seconds: number): readonly number[] =>
  Array.from({ length: Math.floor(SECONDS / seconds) - 1 }, (_, i) => (i + 1) * seconds);

/** A short buffer in quiet, about as often as it was seen; under load; under heavy stalls; and a long buffer under these. */
const QUIET = { stallsPerMinute: 1.4 };
const LOADED = { stallsPerMinute: 6, stallMs: [18, 90] } as const;
const HEAVY = { stallsPerMinute: 24, stallMs: [18, 130] } as const;
const LONG = { stallsPerMinute: 24, stallMs: [12, 130], baseLatency: 4800, bridgedMs: 140 } as const;
const SILENCE = { stallsPerMinute: 1, zerosPerMinute: 1 };
const DROPS = { stallsPerMinute: 1, dropsPerMinute: 0.5 };
const FULL = { ...LOADED, queueHolds: 2200 };
const BOTH = ['processor-compared', 'track'] as const;
const ALL = ['processor', ...BOTH] as const;

function judged(capture: CaptureKind, options: Partial<MachineOptions>): Judgement {
  const judgement = nothingJudged();
  for (const seed of SEEDS) judge(new SteppingMachine({ seed, seconds: SECONDS, capture, ...options }), judgement);
  return judgement;
}

/**
 * Name; ways in; the machine; seconds between checks, 0 for none; at least this share of the passes is sure in every bar
 * and right within 20 frames; at most this share of the bars is called unsure.
 */
type Row = readonly [string, readonly CaptureKind[], Partial<MachineOptions>, number, number, number];

const TABLE: readonly Row[] = [
  ['nothing happens', ALL, {}, 0, 1, 0],
  ['quiet', BOTH, QUIET, 0, 0.4, 0.35],
  ['quiet', BOTH, QUIET, 60, 0.55, 0.08],
  ['quiet', ['processor'], QUIET, 60, 0.5, 0.3],
  ['under load', BOTH, LOADED, 30, 0.12, 0.25],
  ['heavy stalls', ALL, HEAVY, 0, 0, 1],
  ['heavy stalls', BOTH, HEAVY, 30, 0, 0.65],
  ['heavy stalls', ['processor'], HEAVY, 30, 0, 1],
  ['a long buffer that is known to bridge the stalls', ALL, { ...LONG, trustedMs: 235 }, 0, 1, 0],
  ['a long buffer that is not known to', ALL, LONG, 0, 0.5, 0.45],
  ['silence inserted', BOTH, SILENCE, 0, 0.35, 0.42],
  ['silence inserted', ALL, SILENCE, 60, 0.4, 0.25],
  ['frames dropped', BOTH, DROPS, 0, 0.35, 0.45],
  ['frames dropped', BOTH, DROPS, 60, 0.55, 0.08],
  ['a queue that overflows', BOTH, FULL, 60, 0.1, 0.3],
  ['a queue that overflows', ['processor'], FULL, 60, 0.05, 0.85],
];
const ROWS = TABLE.flatMap(([name, captures, options, seconds, near, unsure]) =>
  captures.map((capture) => {
    const checks = seconds === 0 ? 'no check' : `a check every ${seconds} s`;
    return [
      name,
      checks,
      capture,
      { ...options, checksAt: seconds === 0 ? [] : every(seconds) },
      near,
      unsure,
    ] as const;
  }),
);

describe('no bar is wrong without being called unsure', () => {
  test.each(ROWS)('%s, %s, %s', (_, _checks, capture, options, least, most) => {
    const { passes, exact, near, wrong, bars, barsUnsure, worstOver } = judged(capture, options);
    expect(passes).toBeGreaterThan(100);
    expect({ wrong, worstOver }).toEqual({ wrong: 0, worstOver: 0 });
    expect((exact + near) / passes).toBeGreaterThanOrEqual(least);
    expect(barsUnsure / bars).toBeLessThanOrEqual(most);
  });
});

describe('what leaves no sign', () => {
  /** Frames of one step at most, and what can leave it. */
  test.each<[string, CaptureKind, Partial<MachineOptions>, number]>([
    ['frames dropped by an input alone', 'processor', { dropsPerMinute: 0.5 }, 5000],
    ['gaps without a late call', 'track', { unseenPerMinute: 0.5, unseenFrames: 24 }, 24],
  ])(
    '%s (%s) are not in a pass that is called proved, and are found by the next check',
    (_, capture, options, most) => {
      const alone = judged(capture, options);
      expect(alone.wrong).toBeGreaterThan(0);
      // Every one that came since the measurement adds to it.
      expect(alone.worst).toBeLessThanOrEqual(10 * most);
      const checked = judged(capture, { ...options, checksAt: every(60) });
      expect(checked.proved).toBeGreaterThan(20);
      expect(checked.provedOver).toBe(0);
      expect(checked.wrong).toBeLessThan(alone.wrong / 3);
      // Left are the passes after the last check.
      expect(judged(capture, { ...options, checksAt: [...every(60), SECONDS - 4] }).wrong).toBe(0);
    },
  );
});

describe('a gap that stands alone', () => {
  test('is read within 8 frames in the middle, and never further off than half a millisecond', () => {
    const errors = SEEDS.flatMap((seed) => {
      const machine = new SteppingMachine({ seed, seconds: 1800, capture: 'track', stallsPerMinute: 2 });
      const read = watchOf(machine)
        .history()
        .disturbances.filter(({ kind }) => kind === 'output-gap');
      const steps = machine.outputSteps.map(({ at, frames }) => ({ place: at + machine.tripOf(at - 1), frames }));
      return read.map(({ fromFrame, toFrame, shift }) => {
        const within = steps.filter(({ place }) => fromFrame <= place && place <= toFrame);
        return Math.abs((shift ?? 0) - within.reduce((sum, { frames }) => sum + frames, 0));
      });
    }).sort((a, b) => a - b);
    expect(errors.length).toBeGreaterThan(80);
    expect(errors[errors.length >> 1]).toBeLessThanOrEqual(8);
    expect(errors.at(-1)).toBeLessThanOrEqual(24);
  });
});

describe('no false alarm', () => {
  test.each([
    ['an hour of quiet', { seed: 21, wander: 20 }],
    ['an hour in which the output clock wanders far', { seed: 22, wander: 80 }],
    ['an hour of frame counts that freeze', { seed: 23, wander: 20, storms: true }],
    ['an hour with the long buffer', { seed: 24, wander: 20, storms: true, baseLatency: 4800 }],
  ])('in %s', (_, options) => {
    for (const capture of ['processor', 'track'] as const) {
      const history = watchOf(new SteppingMachine({ seconds: 3600, capture, ...options })).history();
      expect(history.disturbances.map(({ kind }) => kind)).toEqual(['opening']);
      expect(history.measurements).toHaveLength(1);
    }
  });
});

describe('observations that come late', () => {
  test('from the audio thread, up to half a second, and not in order, give the same history', () => {
    const machine = new SteppingMachine({ seed: 31, seconds: SECONDS, capture: 'processor-compared', ...LOADED });
    const random = seededNoise(5);
    const late: { readonly at: number; readonly observation: Observation }[] = [];
    let now = 0;
    for (const observation of machine.observations()) {
      if (observation.type === 'output-clock') now = observation.at;
      late.push({ at: observation.type === 'output-clock' ? now : now + 250 * (1 + random()), observation });
    }
    const watch = new RoundTripWatch(machine.setup);
    for (const { observation } of late.sort((a, b) => a.at - b.at)) watch.observe(observation);
    const [expected, got] = [watchOf(machine).history(), watch.history()];
    expect(got.disturbances.map(({ kind }) => kind)).toEqual(expected.disturbances.map(({ kind }) => kind));
    expect(got.measurements).toEqual(expected.measurements);
    got.disturbances.forEach(({ shift }, i) => {
      expect(Math.abs((shift ?? 0) - (expected.disturbances[i]?.shift ?? 0))).toBeLessThanOrEqual(4);
    });
  });
});
