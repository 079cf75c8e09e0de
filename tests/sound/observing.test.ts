import { expect, test } from 'vitest';
import { frames } from '../../src/core/units/index.js';
import type { ClockReading } from '../../src/protocol/wire.js';
import { Observing } from '../../src/sound/observing.js';

const QUIET: ClockReading = {
  type: 'clock',
  rendered: 1024,
  contextAhead: 300,
  peaks: { input: [], house: { peak: 0, held: 0 }, foldback: { peak: 0, held: 0 } },
  load: null,
  gaps: [],
  gapCount: 0,
  faults: { 'late-chunk': 0, 'frames-lost': 0, 'pool-full': 0, 'not-a-number': 0 },
  captured: 1000,
  zeros: [],
  phase: null,
};
/** What the system clock is ahead of the performance clock, ms. */
const AHEAD = 1_700_000_000_000;

test('a reading tells how far the context leads when that is new', () => {
  const observing = new Observing();
  expect(observing.of(QUIET, AHEAD)).toEqual([{ type: 'context-lead', at: 1024, frames: 300 }]);
  expect(observing.of(QUIET, AHEAD)).toEqual([]);
  expect(observing.of({ ...QUIET, contextAhead: 428 }, AHEAD)).toEqual([
    { type: 'context-lead', at: 1024, frames: 428 },
  ]);
});

test('pauses and bursts are told by the performance clock, zeros by frames', () => {
  const observing = new Observing();
  observing.of(QUIET, AHEAD);
  const zeros = [{ type: 'zero-run' as const, from: frames(500), frames: frames(1024) }];
  const reading: ClockReading = {
    ...QUIET,
    gaps: [{ at: 256, milliseconds: 60, endedAt: AHEAD + 5000 }],
    zeros,
    phase: { at: AHEAD + 5010, behind: 12.5 },
  };
  expect(observing.of(reading, AHEAD)).toEqual([
    { type: 'call-pause', at: 256, milliseconds: 60, endedAt: 5000 },
    ...zeros,
    { type: 'call-phase', at: 5010, behind: 12.5 },
  ]);
});

test.each([
  [2000, false],
  [2001, true],
])('a pause of %i ms is one in which the machine slept: %s', (milliseconds, slept) => {
  const observing = new Observing();
  const seen = observing.of({ ...QUIET, gaps: [{ at: 256, milliseconds, endedAt: AHEAD }] }, AHEAD);
  expect(seen.filter(({ type }) => type === 'break')).toEqual(
    slept ? [{ type: 'break', kind: 'clock-jumped', at: QUIET.captured }] : [],
  );
});
