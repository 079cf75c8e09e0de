/** What leaves the engine while it plays and records: buses, routing, monitor, damage. */
import { describe, expect, test } from 'vitest';
import type { EngineCommand, EngineReport } from '../../../src/core/render/commands.js';
import { Engine } from '../../../src/core/render/engine.js';
import { SLAB_FRAMES } from '../../../src/core/render/pool.js';
import type { Routing } from '../../../src/core/render/routing.js';
import { frames, gain, sampleRate } from '../../../src/core/units/index.js';
import { Performance } from '../../support/performance.js';
import type { PerformanceOptions } from '../../support/performance.js';
import { programOf } from '../../support/programs.js';
import { firstDifference, strokes } from '../../support/signals.js';

const RATE = 48_000;
const BAR = 120_000;
const BEAT = BAR / 4;

/** A count-in and two bars recorded, with the click on and the player's own sound in the headphones. */
function recordedUnderMonitor(options: PerformanceOptions = {}): Performance {
  const p = new Performance(options);
  p.useProgram(programOf());
  p.handle({ type: 'set-click', playing: true, gain: gain(0.25) });
  p.handle({ type: 'set-monitor', on: true, gain: gain(0.5) });
  p.rules(2);
  p.pressAt(p.heard + 1000);
  const { origin } = p;
  p.play = strokes(
    Array.from({ length: 16 }, (_, beat) => origin + beat * BEAT),
    { seed: 4 },
  );
  return p;
}

describe('the house and the recordings', () => {
  test('carry neither click nor count-in nor monitor', () => {
    const p = recordedUnderMonitor();
    const { origin } = p;
    const ended = p.runUntilReport('recording-ended');
    p.runUntil(origin + 3 * BAR);
    // Until the loop comes round there is no music: the house is silent, the foldback is not.
    expect(p.house.subarray(0, origin + 2 * BAR - 480).every((sample) => sample === 0)).toBe(true);
    expect(p.left.subarray(origin - BAR, origin).some((sample) => Math.abs(sample) > 0.2)).toBe(true);
    const heard = p.left.subarray(origin + p.roundTrip + 1200, origin + BEAT);
    expect([...heard]).toEqual([...heard.keys()].map((i) => Math.fround(0.5 * p.play(origin + 1200 + i))));
    const started = p.last('recording-started');
    const [recorded] = p.stored.get(ended.audio) ?? [];
    const wrong = recorded?.filter((sample, i) => sample !== p.play(started.at + i - p.roundTrip)).length;
    expect(wrong).toBe(0);
    // And then the house has the loop alone.
    const loop = p.house.subarray(origin + 2 * BAR + 1200, origin + 2 * BAR + BEAT);
    expect([...loop]).toEqual([...loop.keys()].map((i) => p.play(origin + 1200 + i)));
  });

  test.each([1, 127])('are the same to the bit in blocks of %i, as is the foldback', (block) => {
    const run = (options: PerformanceOptions): Performance => {
      const p = new Performance(options);
      p.handle({ type: 'use-program', program: programOf() });
      p.handle({ type: 'set-click', playing: true, gain: gain(0.25) });
      p.handle({ type: 'set-monitor', on: true, gain: gain(0.5) });
      p.play = strokes([3000, 9000, 20_000], { seed: 2 });
      p.handle({ type: 'play', heard: frames(0) });
      p.runUntil(1.2 * BEAT);
      return p;
    };
    const one = run({ blockSize: () => block });
    const whole = run({});
    expect(one.origin).toBe(whole.origin);
    expect(Math.max(...whole.left)).toBeGreaterThan(0.1);
    expect(firstDifference(one.left.slice(0, BEAT), whole.left.slice(0, BEAT))).toBe(-1);
    expect(firstDifference(one.house.slice(0, BEAT), whole.house.slice(0, BEAT))).toBe(-1);
  });
});

describe('levels', () => {
  test('the click changes its gain within 5 ms, without a step, in the middle of a knock', () => {
    const p = new Performance();
    p.useProgram(programOf());
    p.handle({ type: 'set-click', playing: true, gain: gain(0.25) });
    p.handle({ type: 'play', heard: frames(p.heard) });
    const { origin } = p;
    p.runUntil(origin + BAR + 200);
    const reference = p.left.slice(origin, origin + BAR);
    p.runUntil(origin + 4 * BAR + 100);
    p.handle({ type: 'set-click', playing: true, gain: gain(0.5) });
    const at = p.rendered - origin - 4 * BAR;
    p.runUntil(origin + 6 * BAR + 200);
    expect(at).toBeLessThan(300);
    const changed = p.left.slice(origin + 4 * BAR, origin + 4 * BAR + 1200);
    for (let i = 0; i < 1200; i++) {
      const risen = Math.min(1, Math.max(0, i - at) / 240);
      expect(changed[i]).toBeCloseTo((reference[i] ?? 0) * (1 + risen), 6);
    }
    const after = p.left.slice(origin + 5 * BAR, origin + 6 * BAR);
    expect([...after]).toEqual([...reference].map((sample) => Math.fround(sample * 2)));
  });

  test('house and foldback have their own', () => {
    const p = recordedUnderMonitor();
    const { origin } = p;
    p.handle({ type: 'set-click', playing: false, gain: gain(0) });
    p.handle({ type: 'set-monitor', on: false, gain: gain(0) });
    p.handle({ type: 'set-level', bus: 'house', gain: gain(0.5) });
    p.handle({ type: 'set-level', bus: 'foldback', gain: gain(0.25) });
    p.runUntil(origin + 3 * BAR);
    const at = origin + 2 * BAR + BEAT;
    expect(p.house[at]).toBe(Math.fround(0.5 * p.play(origin + BEAT)));
    expect(p.left[at]).toBe(Math.fround(0.25 * p.play(origin + BEAT)));
  });
});

/** An engine that feeds a device: what leaves by each channel, from the first frame on, undelayed. */
class Device {
  readonly reports: EngineReport[] = [];
  readonly out: number[][];
  readonly #engine: Engine;
  readonly #waiting: EngineCommand[] = [];
  input: (frame: number) => number = () => 0;

  constructor(channels: number) {
    this.out = Array.from({ length: channels }, () => []);
    this.#engine = new Engine(
      { sampleRate: sampleRate(RATE), inputChannels: 1, ringSeconds: 1, outputChannels: channels },
      (report) => {
        this.reports.push(report);
        if (report.type === 'slab-wanted') {
          this.#waiting.push({ type: 'supply-slab', slab: new Float32Array(SLAB_FRAMES) });
        }
      },
    );
  }

  get rendered(): number {
    return this.#engine.rendered;
  }

  handle(command: EngineCommand): void {
    this.#engine.handle(command);
  }

  route(routing: Routing): void {
    this.handle({ type: 'set-routing', routing });
  }

  runUntil(frame: number): void {
    while (this.rendered < frame) {
      for (let command = this.#waiting.shift(); command !== undefined; command = this.#waiting.shift()) {
        this.handle(command);
      }
      const start = this.rendered;
      const input = Float32Array.from({ length: 128 }, (_, i) => this.input(start + i));
      const channels = this.out.map(() => new Float32Array(128));
      this.#engine.send([input], channels, 128);
      channels.forEach((channel, c) => this.out[c]?.push(...channel));
    }
  }

  channel(c: number): Float32Array {
    return Float32Array.from(this.out[c] ?? []).subarray(this.#engine.lookAhead);
  }
}

describe('a device', () => {
  test('of one pair hears the foldback on it, or one bus on each side', () => {
    const device = new Device(2);
    device.handle({ type: 'use-program', program: programOf() });
    device.handle({ type: 'set-click', playing: true, gain: gain(0.25) });
    device.handle({ type: 'play', heard: frames(0) });
    device.runUntil(BAR);
    const [left, right] = [device.channel(0), device.channel(1)];
    expect(firstDifference(left, right)).toBe(-1);
    expect(Math.max(...left.map(Math.abs))).toBeGreaterThan(0.1);
    device.route({ layout: 'sides', foldback: 'left' });
    const at = device.rendered + 960;
    device.runUntil(BAR + 2 * BEAT);
    // There is no music: the side of the house is silent.
    expect(Math.max(...device.channel(0).subarray(at).map(Math.abs))).toBeGreaterThan(0.1);
    expect(
      device
        .channel(1)
        .subarray(at)
        .every((sample) => sample === 0),
    ).toBe(true);
  });

  test('of four channels has a pair for each; of two, it says that they are too few and stays as it is', () => {
    const wide = new Device(4);
    wide.handle({ type: 'set-monitor', on: true, gain: gain(1) });
    wide.route({ layout: 'two-pairs', foldback: 'second' });
    wide.input = () => 0.25;
    wide.runUntil(4800);
    expect([0, 1, 2, 3].map((c) => wide.channel(c)[4000])).toEqual([0, 0, 0.25, 0.25]);

    const narrow = new Device(2);
    narrow.handle({ type: 'set-monitor', on: true, gain: gain(1) });
    narrow.route({ layout: 'two-pairs', foldback: 'second' });
    narrow.input = () => 0.25;
    narrow.runUntil(4800);
    expect(narrow.reports).toContainEqual({
      type: 'refused',
      at: 0,
      command: 'set-routing',
      why: 'too-few-outputs',
    });
    expect([0, 1].map((c) => narrow.channel(c)[4000])).toEqual([0.25, 0.25]);
  });

  test('is not startled: the first sound, and the first after a change of routing, begins at −10 dBFS at most', () => {
    const device = new Device(2);
    device.handle({ type: 'set-monitor', on: true, gain: gain(1) });
    device.runUntil(4800);
    // Not a tone: that would be feedback to the guard.
    device.input = (frame) => (frame % 2400 < 1200 ? 0.6 : -0.6);
    device.runUntil(96_000);
    const before = device.channel(0);
    expect(Math.max(...before.slice(4800, 5040).map(Math.abs))).toBeLessThan(0.4);
    expect(before[60_000]).toBe(Math.fround(0.6));
    device.route({ layout: 'sides', foldback: 'left' });
    const at = device.rendered;
    device.runUntil(at + 4800);
    expect(
      Math.max(
        ...device
          .channel(0)
          .slice(at + 96, at + 300)
          .map(Math.abs),
      ),
    ).toBeLessThan(0.45);
  });
});

describe('damage', () => {
  test('in the input is neither recorded nor heard, and reported with its count', () => {
    const p = recordedUnderMonitor();
    const { origin, play } = p;
    const bad = [origin + 5000, origin + 5001, origin + 70_000];
    p.play = (heard) => (bad.includes(heard) ? (heard % 2 === 0 ? NaN : Infinity) : play(heard));
    const ended = p.runUntilReport('recording-ended');
    p.runUntil(origin + 5 * BAR);
    const faults = p.all('fault').filter(({ kind }) => kind === 'not-a-number');
    expect(faults.reduce((sum, { count }) => sum + count, 0)).toBe(3);
    const started = p.last('recording-started');
    const [recorded] = p.stored.get(ended.audio) ?? [];
    expect(recorded?.every(Number.isFinite)).toBe(true);
    for (const frame of bad) expect(recorded?.[frame + p.roundTrip - started.at]).toBe(0);
    expect(p.left.every(Number.isFinite)).toBe(true);
    expect(p.house.every(Number.isFinite)).toBe(true);
  });

  test('in a stored layer is silence in house and foldback, and reported', () => {
    const p = new Performance();
    const stored = Array.from({ length: 4 * BAR }, (_, i) => (i === 2000 ? NaN : 0.1));
    p.stored.set(9, [stored]);
    const layer = { voice: 3, audio: 9, bodyStart: 0, bodyFrames: 4 * BAR, bars: 4 };
    p.useProgram(programOf({ sectionBars: 4, layers: [layer] }));
    p.handle({ type: 'play', heard: frames(p.heard) });
    const { origin } = p;
    p.runUntil(origin + BAR);
    expect([p.house[origin + 2000], p.left[origin + 2000]]).toEqual([0, 0]);
    expect(p.house[origin + 2001]).toBe(Math.fround(0.1));
    // Left and right.
    expect(p.all('fault')).toMatchObject([{ kind: 'not-a-number', count: 2 }]);
  });
});

test.each([4800, 24_000])(
  'a howl over a round trip of %i frames mutes the monitor, is reported once, and only turning it on brings it back',
  (roundTrip) => {
    const p = new Performance({ roundTrip });
    p.handle({ type: 'set-monitor', on: true, gain: gain(1) });
    // Comes back a round trip after it was sent, by twice as much, up to what a converter can take.
    p.play = (heard) => Math.max(-1, Math.min(1, 2 * (p.left[heard] ?? 0) + 1e-3 * Math.sin(0.13 * heard)));
    const muted = p.runUntilReport('monitor-muted');
    expect(muted).toMatchObject({ type: 'monitor-muted', why: 'howl' });
    const at = p.rendered;
    p.runUntil(at + 48_000);
    expect(p.all('monitor-muted')).toHaveLength(1);
    // Silent ever since it was suspected: at least for the round trip that it took to be sure.
    expect(p.left.subarray(at - roundTrip - 9600).every((sample) => sample === 0)).toBe(true);
    expect(p.house.every((sample) => sample === 0)).toBe(true);
    p.play = () => 0.25;
    p.handle({ type: 'set-monitor', on: true, gain: gain(1) });
    p.runUntil(at + 60_000);
    expect(p.left[at + 55_000]).toBe(0.25);
  },
);
