import { describe, expect, test } from 'vitest';
import fc from 'fast-check';
import type { Bus } from '../../../src/core/render/buses.js';
import { Buses } from '../../../src/core/render/buses.js';
import { frames, gain, sampleRate } from '../../../src/core/units/index.js';
import { largestStep } from '../../support/signals.js';
import { seededNoise, signal } from '../../support/tones.js';
import { annex2Peak, longPeak } from '../../support/true-peak.js';

const RATE = 48_000;
const LOOK_AHEAD = 96;
/** EBU R 128 and Tech 3341: −1 dBTP, and what a meter may read too high. */
const CEILING = -1 + 0.2;

interface Material {
  readonly music?: readonly [Float32Array, Float32Array];
  readonly clicks?: Float32Array;
  readonly input?: Float32Array;
  readonly length: number;
  readonly guarded?: boolean;
  readonly block?: () => number;
  readonly prepare?: (buses: Buses) => void;
  /** Before the block that begins at or after a frame. */
  readonly then?: readonly [frame: number, change: (buses: Buses, at: ReturnType<typeof frames>) => void];
}

function rendered(material: Material) {
  const { length, then } = material;
  const buses = new Buses(sampleRate(RATE), 1);
  material.prepare?.(buses);
  const total = length + LOOK_AHEAD;
  const padded = (from: Float32Array | undefined) => {
    const to = new Float64Array(total);
    if (from !== undefined) to.set(from);
    return to;
  };
  const [left, right, clicks] = [padded(material.music?.[0]), padded(material.music?.[1]), padded(material.clicks)];
  const input = Float32Array.from(padded(material.input));
  const out = { house: [] as number[], foldback: [] as number[], damaged: 0, buses };
  let changed = then === undefined;
  for (let at = 0; at < total;) {
    if (!changed && at >= then![0]) {
      then![1](buses, frames(at));
      changed = true;
    }
    const most = changed ? total - at : Math.min(total, then![0]) - at;
    const count = Math.min(material.block?.() ?? 128, 128, most);
    const music = [left.subarray(at), right.subarray(at)] as const;
    buses.render(music, clicks.subarray(at), [input], at, at, count, material.guarded ?? false);
    out.house.push(...buses.house[0].subarray(0, count));
    out.foldback.push(...buses.foldback[0].subarray(0, count));
    out.damaged += buses.takeDamaged();
    at += count;
  }
  return {
    ...out,
    house: Float32Array.from(out.house.slice(LOOK_AHEAD)),
    foldback: Float32Array.from(out.foldback.slice(LOOK_AHEAD)),
  };
}

const LENGTH = 12_000;
const noise = seededNoise(8);
const quiet = signal(LENGTH, () => 0.1 * noise());
const knocks = signal(LENGTH, (i) => (i % 3000 < 400 ? 0.2 * noise() : 0));
const played = signal(LENGTH, () => 0.1 * noise());
const withMonitor = (buses: Buses): void => buses.monitor.set(true, gain(1), frames(-10_000));

describe('what is in which bus', () => {
  test('the house is the music alone, the foldback music, click and monitor, both to the bit', () => {
    const { house, foldback } = rendered({
      music: [quiet, quiet],
      clicks: knocks,
      input: played,
      length: LENGTH,
      prepare: withMonitor,
    });
    expect(house).toEqual(quiet);
    expect(foldback).toEqual(signal(LENGTH, (i) => quiet[i]! + (knocks[i]! + played[i]!)));
  });

  test('without a command there is no monitor', () => {
    const { house, foldback } = rendered({ input: played, length: LENGTH });
    expect(house.every((sample) => sample === 0)).toBe(true);
    expect(foldback.every((sample) => sample === 0)).toBe(true);
  });
});

describe('levels', () => {
  const tone = signal(LENGTH, (i) => 0.5 * Math.sin(0.01 * i));
  const to = (bus: Bus, level: number): NonNullable<Material['then']> => [
    4000,
    (buses, at) => buses.setLevel(bus, level as never, at),
  ];

  test.each(['house', 'foldback'] as const)(
    'the %s moves to its gain within 10 ms, without a step, the other stays',
    (bus) => {
      const out = rendered({ music: [tone, tone], length: LENGTH, then: to(bus, 0.25) });
      const other = bus === 'house' ? 'foldback' : 'house';
      expect(out[bus].subarray(4480)).toEqual(tone.map((sample) => sample * 0.25).subarray(4480));
      expect(largestStep(out[bus], 0, LENGTH)).toBeLessThan(1.3 * largestStep(tone, 0, LENGTH));
      expect(out[other]).toEqual(tone);
    },
  );

  test.each([
    [NaN, 0],
    [-1, 0],
    [9, 4],
  ])('a gain of %d is taken for %d', (asked, used) => {
    const soft = signal(LENGTH, (i) => 0.1 * Math.sin(0.01 * i));
    const out = rendered({ music: [soft, soft], length: LENGTH, then: to('house', asked) });
    expect(out.house[9000]).toBeCloseTo(used * soft[9000]!, 6);
  });
});

describe('the ceiling', () => {
  test('holds for eight layers of full scale under loud clicks and a loud monitor, at +12 dB each', () => {
    const eight = signal(LENGTH, (i) => {
      let sum = 0;
      for (let layer = 0; layer < 8; layer++) sum += i < LENGTH - 1000 ? noise() : 0;
      return sum;
    });
    const loudClicks = signal(LENGTH, (i) => (i < LENGTH - 1000 && i % 3000 < 400 ? 4 * noise() : 0));
    const loudInput = signal(LENGTH, (i) => (i < LENGTH - 1000 ? noise() : 0));
    const { house, foldback, damaged } = rendered({
      music: [eight, eight],
      clicks: loudClicks,
      input: loudInput,
      length: LENGTH,
      prepare: (buses) => {
        buses.monitor.set(true, gain(4), frames(-10_000));
        buses.setLevel('house', gain(4), frames(-10_000));
        buses.setLevel('foldback', gain(4), frames(-10_000));
      },
    });
    for (const bus of [house, foldback]) {
      expect(annex2Peak(bus)).toBeLessThanOrEqual(CEILING);
      expect(longPeak(bus)).toBeLessThanOrEqual(CEILING);
      expect(bus.every(Number.isFinite)).toBe(true);
      expect(Math.max(...bus)).toBeGreaterThan(0.5);
    }
    expect(damaged).toBe(0);
  });
});

describe('damage', () => {
  const at = (frame: number, value: number): Float32Array => {
    const samples = quiet.slice();
    samples[frame] = value;
    return samples;
  };

  test.each([NaN, Infinity, -Infinity])('%d in the music is silence in both buses, counted once a sample', (bad) => {
    const { house, foldback, damaged } = rendered({ music: [at(5000, bad), quiet], clicks: knocks, length: LENGTH });
    expect([house[5000], foldback[5000]]).toEqual([0, 0]);
    expect(house[5001]).toBe(quiet[5001]);
    expect(damaged).toBe(1);
  });

  test('in the clicks it is silence in the foldback alone', () => {
    const { house, foldback, damaged } = rendered({ music: [quiet, quiet], clicks: at(5000, NaN), length: LENGTH });
    expect(house).toEqual(quiet);
    expect(foldback[5000]).toBe(0);
    expect(damaged).toBe(2);
  });

  test('denormals of music, click and monitor come out as zeros', () => {
    const tiny = signal(LENGTH, () => 2 ** -130);
    const { house, foldback } = rendered({
      music: [tiny, tiny],
      clicks: tiny,
      input: tiny,
      length: LENGTH,
      prepare: withMonitor,
    });
    expect([...house, ...foldback].every((sample) => sample === 0)).toBe(true);
  });
});

test('meters read both buses as they leave', () => {
  const { buses } = rendered({ music: [quiet, quiet], clicks: knocks, length: LENGTH });
  const { house, foldback } = buses.meters.read();
  expect(house.peak).toBe(Math.max(...quiet.map(Math.abs)));
  expect(foldback.peak).toBeGreaterThan(house.peak);
});

test('a loud start is turned down only where somebody hears it', () => {
  const loud = signal(LENGTH, (i) => 0.85 * Math.sin(0.05 * i));
  expect(rendered({ music: [loud, loud], length: LENGTH }).house).toEqual(loud);
  const guarded = rendered({ music: [loud, loud], length: LENGTH, guarded: true });
  for (const bus of [guarded.house, guarded.foldback]) {
    expect(Math.max(...bus.slice(0, 240).map(Math.abs))).toBeLessThan(0.4);
  }
});

test('any split into blocks gives the same samples', () => {
  const loud = signal(LENGTH, () => noise());
  const material = {
    music: [loud, quiet] as const,
    clicks: knocks,
    input: played,
    length: LENGTH,
    guarded: true,
    prepare: withMonitor,
    then: [4001, (buses: Buses, at: ReturnType<typeof frames>) => buses.setLevel('house', gain(0.5), at)] as const,
  };
  const whole = rendered(material);
  const sizes = fc.array(fc.integer({ min: 1, max: 128 }), { minLength: 1, maxLength: 9 });
  fc.assert(
    fc.property(fc.oneof(fc.constant([1]), fc.constant([127]), sizes), (blocks) => {
      let next = 0;
      const split = rendered({ ...material, block: () => blocks[next++ % blocks.length]! });
      expect(split.house).toEqual(whole.house);
      expect(split.foldback).toEqual(whole.foldback);
    }),
    { numRuns: 8 },
  );
});
