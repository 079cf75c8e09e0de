import { describe, expect, test } from 'vitest';
import type { HowlVerdict } from '../../../src/core/render/howl-guard.js';
import { HowlGuard } from '../../../src/core/render/howl-guard.js';
import { frames, sampleRate } from '../../../src/core/units/index.js';
import { seededNoise } from '../../support/tones.js';

const RATE = 48_000;
const ROUND_TRIP = 4800;
/** The round trip and a quarter of a second, in whole windows of 50 ms. */
const CHECK = 0.35;

type Events = readonly (readonly [second: number, verdict: HowlVerdict])[];

/** What the guard says of `seconds` of a signal. */
function listen(signal: (second: number) => number, seconds: number, guard = newGuard()): Events {
  const noise = seededNoise(1);
  const events: [number, HowlVerdict][] = [];
  for (let frame = 0; frame < seconds * RATE; frame++) {
    const verdict = guard.push(signal(frame / RATE) + 1e-4 * noise());
    if (verdict !== 'nothing') events.push([frame / RATE, verdict]);
  }
  return events;
}

function newGuard(): HowlGuard {
  const guard = new HowlGuard(sampleRate(RATE));
  guard.setRoundTrip(frames(ROUND_TRIP));
  return guard;
}

const tone = (hertz: number, second: number): number => Math.sin(2 * Math.PI * hertz * second);
const decibels = (level: number): number => 10 ** (level / 20);
/** From −60 dBFS by so many decibels a second, to full scale. */
const growing =
  (hertz: number, rate: number) =>
  (second: number): number =>
    Math.min(1, decibels(rate * second - 60)) * tone(hertz, second);

describe('a tone that grows by the same factor all the time', () => {
  const rates = [8, 15, 30, 60, 120, 200, 400, 800];
  const cases = rates.flatMap((rate) => [130, 250, 600, 1000, 2500, 6000, 10_000].map((hertz) => ({ rate, hertz })));

  test.each(cases)(
    'at $rate dB a second and $hertz Hz is silenced 24 dB up, or 0.4 s after full scale',
    ({ rate, hertz }) => {
      const [first] = listen(growing(hertz, rate), 70 / rate + 1);
      expect(first?.[1]).toBe('silence');
      const at = first?.[0] ?? 0;
      // It is a tone by −56 dBFS in this noise.
      expect(at).toBeLessThanOrEqual(Math.max(60 / rate + 0.4 > 0.75 ? (4 + 24) / rate + 0.5 : 60 / rate + 0.4, 0.5));
    },
  );

  test('is a howl if it ends when the monitor is silent', () => {
    let silent = Infinity;
    const guard = newGuard();
    const events: [number, HowlVerdict][] = [];
    for (let frame = 0; frame < 4 * RATE; frame++) {
      const heard = frame < silent + ROUND_TRIP ? growing(1000, 40)(frame / RATE) : 1e-4 * tone(1000, frame / RATE);
      const verdict = guard.push(heard);
      if (verdict === 'silence') silent = frame;
      if (verdict !== 'nothing') events.push([frame / RATE, verdict]);
    }
    expect(events.map(([, verdict]) => verdict)).toEqual(['silence', 'howl']);
    expect((events[1]?.[0] ?? 0) - (events[0]?.[0] ?? 0)).toBeCloseTo(CHECK, 3);
  });

  test('is let sound again if it goes on: then it was played', () => {
    const events = listen(growing(1000, 40), 6);
    expect(events.map(([, verdict]) => verdict)).toEqual(['silence', 'sound-again']);
    expect((events[1]?.[0] ?? 0) - (events[0]?.[0] ?? 0)).toBeCloseTo(CHECK, 3);
  });

  test('and dies away again is no howl before it has grown by 24 dB', () => {
    const swell = (second: number): number => decibels(-Math.abs(((second + 1) % 2) - 1) * 20 - 10) * tone(700, second);
    expect(listen(swell, 8)).toEqual([]);
  });

  test('under 120 Hz is a bass note', () => {
    expect(listen(growing(80, 40), 4)).toEqual([]);
  });
});

describe('a tone that stands at the ceiling', () => {
  const held = (second: number): number => (second < 0.2 ? 0 : 0.95 * tone(440, second));

  test('is silenced after 0.3 s, let sound again if it goes on, and then left alone for as long as it lasts', () => {
    const events = listen(held, 12);
    expect(events.map(([, verdict]) => verdict)).toEqual(['silence', 'sound-again']);
    expect(events[0]?.[0]).toBeCloseTo(0.5, 1);
  });

  test('counts anew when another tone follows', () => {
    const two = (second: number): number => 0.95 * tone(second < 5 ? 440 : 660, second);
    expect(listen(two, 10).map(([, verdict]) => verdict)).toEqual(['silence', 'sound-again', 'silence', 'sound-again']);
  });

  test('is nothing at −2 dBFS', () => {
    expect(listen((second) => 0.79 * tone(440, second), 10)).toEqual([]);
  });

  test('is silenced after 2 s where it is no pure tone', () => {
    // Two tones a fifth apart: one pitch to the zero crossings, less than half of it in the narrow band.
    const both = (second: number): number => Math.max(-1, Math.min(1, 1.2 * (tone(500, second) + tone(750, second))));
    const [first] = listen(both, 4);
    expect(first?.[1]).toBe('silence');
    expect(first?.[0]).toBeGreaterThan(1.5);
    expect(first?.[0]).toBeLessThan(2.5);
  });
});

test('after a howl it says nothing more until it is reset', () => {
  const guard = newGuard();
  const end = listen(growing(1000, 40), 0.9, guard);
  const howl = [...end, ...listen(() => 0, 2, guard)];
  expect(howl.at(-1)?.[1]).toBe('howl');
  expect(listen(growing(1000, 40), 4, guard)).toEqual([]);
  guard.reset();
  expect(listen(growing(1000, 40), 4, guard)[0]?.[1]).toBe('silence');
});

test('noise, hum and silence are nothing', () => {
  const noise = seededNoise(9);
  expect(listen(() => noise(), 5)).toEqual([]);
  expect(listen((second) => 0.05 * tone(50, second) + 0.02 * tone(150, second), 5)).toEqual([]);
  expect(listen(() => 0, 5)).toEqual([]);
});
