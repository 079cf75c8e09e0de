import { describe, expect, test } from 'vitest';
import type { EngineReport } from '../../src/core/render/commands.js';
import { frames, milliseconds } from '../../src/core/units/index.js';
import type { SoundObservation } from '../../src/ports/sound.js';
import { HealthReadings } from '../../src/rehearsal/sound-health.js';

const NOTHING = { load: null, gaps: 0, lateFrames: 0, lostFrames: 0, timesFull: 0, damagedSamples: 0 };

type Kind = Extract<EngineReport, { type: 'fault' }>['kind'];
const fault = (kind: Kind, count: number): EngineReport => ({ type: 'fault', at: frames(0), kind, count });
const pause = (endedAt: number): SoundObservation => ({
  type: 'call-pause',
  at: frames(0),
  milliseconds: milliseconds(40),
  endedAt: milliseconds(endedAt),
});

describe('readings of the sound', () => {
  test('add up each kind of fault by itself', () => {
    const readings = new HealthReadings();
    for (const [kind, count] of [
      ['late-chunk', 128],
      ['frames-lost', 960],
      ['late-chunk', 72],
      ['pool-full', 1],
      ['not-a-number', 3],
    ] as const) {
      readings.report(fault(kind, count));
    }
    readings.report({ type: 'slab-wanted', chunks: 128 });
    expect(readings.health).toEqual({
      ...NOTHING,
      lateFrames: 200,
      lostFrames: 960,
      timesFull: 1,
      damagedSamples: 3,
    });
  });

  test('count gaps that follow each other within 300 ms as one disturbance', () => {
    const readings = new HealthReadings();
    for (const endedAt of [1000, 1300, 1600, 1901, 5000]) readings.observe(pause(endedAt));
    expect(readings.health.gaps).toBe(3);
  });

  test('say the load to a hundredth, and stay the very same where that does not change', () => {
    const readings = new HealthReadings();
    readings.observe({ type: 'load', part: 0.1249 });
    const { health } = readings;
    expect(health).toEqual({ ...NOTHING, load: 0.12 });
    readings.observe({ type: 'load', part: 0.1151 });
    readings.observe({ type: 'context-lead', at: frames(0), frames: frames(3) });
    expect(readings.health).toBe(health);
  });

  test('begin anew with another sound', () => {
    const readings = new HealthReadings();
    readings.observe({ type: 'load', part: 0.5 });
    readings.observe(pause(10));
    readings.begin();
    expect(readings.health).toEqual(NOTHING);
    readings.observe(pause(20));
    expect(readings.health.gaps).toBe(1);
  });
});
