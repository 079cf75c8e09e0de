import { expect, test } from 'vitest';
import type { EngineReport } from '../../../src/core/render/commands.js';
import { FaultReports } from '../../../src/core/render/fault-reports.js';
import { frames, sampleRate } from '../../../src/core/units/index.js';

test('the first fault is reported at once, those that follow are gathered for a quarter of a second', () => {
  const reports: EngineReport[] = [];
  const faults = new FaultReports('not-a-number', sampleRate(48_000), (report) => reports.push(report));
  for (let at = 0; at <= 48_000; at += 128) faults.take(at < 24_000 ? 2 : 0, frames(at));
  expect(reports).toEqual([
    { type: 'fault', at: 0, kind: 'not-a-number', count: 2 },
    { type: 'fault', at: 12_032, kind: 'not-a-number', count: 2 * 94 },
    { type: 'fault', at: 24_064, kind: 'not-a-number', count: 2 * 93 },
  ]);
});

test('without faults there are no reports', () => {
  const reports: EngineReport[] = [];
  const faults = new FaultReports('late-chunk', sampleRate(48_000), (report) => reports.push(report));
  for (let at = 0; at <= 48_000; at += 128) faults.take(0, frames(at));
  expect(reports).toEqual([]);
});
