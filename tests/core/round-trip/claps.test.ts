import { expect, test } from 'vitest';
import { judgeClaps } from '../../../src/core/round-trip/claps.js';
import { frames, nearestFrame, sampleRate } from '../../../src/core/units/index.js';
import { gaussian } from './paths.js';

const RATE = sampleRate(48_000);
const TRUE_ROUND_TRIP = 5000;
const CLICKS = Array.from({ length: 16 }, (_, k) => frames(24_000 * k));

/** A player's claps at 120 bpm: so many milliseconds after the click on average, scattered by so many. */
function clapping(meanMs: number, scatterMs: number, seed = 1) {
  const normal = gaussian(seed);
  return CLICKS.map((click) => nearestFrame(click + TRUE_ROUND_TRIP + 48 * (meanMs + scatterMs * normal())));
}

// Mean asynchronies: Repp 2005 and Repp and Su 2013; their standard deviations, 2 to 4 % of the interval, from memory.
test.each([
  ['a musician', 0, 10, 'plausible'],
  ['a musician, early', -30, 10, 'plausible'],
  ['an untrained player', -50, 20, 'plausible'],
  ['an early untrained player', -80, 25, 'plausible'],
  ['the earliest individuals', -170, 20, 'plausible'],
  ['someone earlier than anybody', -210, 20, 'earlier-than-people'],
  ['someone late on average', 50, 10, 'later-than-people'],
])('%s, %i ms from the click, is %s', (_, mean, scatter, verdict) => {
  const claps = clapping(mean, scatter);
  const result = judgeClaps({ clicks: CLICKS, claps, roundTrip: frames(TRUE_ROUND_TRIP) }, RATE);
  expect(result).toEqual({ ok: true, value: verdict });
});

test.each([
  ['100 ms too short', TRUE_ROUND_TRIP - 4800, 'later-than-people'],
  ['right', TRUE_ROUND_TRIP, 'plausible'],
  ['170 ms too long', TRUE_ROUND_TRIP + 8160, 'earlier-than-people'],
])('a round trip that is %s shows in the claps of an untrained player', (_, roundTrip, verdict) => {
  const claps = clapping(-40, 15);
  expect(judgeClaps({ clicks: CLICKS, claps, roundTrip: frames(roundTrip) }, RATE)).toEqual({
    ok: true,
    value: verdict,
  });
});

test.each([
  ['seven claps', clapping(-30, 10).slice(0, 7), { type: 'too-few', claps: 7 }],
  ['no claps', [], { type: 'too-few', claps: 0 }],
])('%s are too few to judge', (_, claps, reason) => {
  expect(judgeClaps({ clicks: CLICKS, claps, roundTrip: frames(TRUE_ROUND_TRIP) }, RATE)).toEqual({
    ok: false,
    reason,
  });
});

test('claps that follow no click are not judged', () => {
  const claps = CLICKS.map((click, k) => frames(click + TRUE_ROUND_TRIP + ((k * 7919) % 23_000)));
  const result = judgeClaps({ clicks: CLICKS, claps, roundTrip: frames(TRUE_ROUND_TRIP) }, RATE);
  expect(result).toMatchObject({ ok: false, reason: { type: 'scattered' } });
});

test('without clicks nothing is judged', () => {
  const result = judgeClaps({ clicks: [], claps: clapping(0, 0), roundTrip: frames(0) }, RATE);
  expect(result).toEqual({ ok: false, reason: { type: 'too-few', claps: 0 } });
});
