/**
 * The same engine, fed by frames that were counted where they were captured and come later than its own input: what is
 * recorded is the same to the bit, and nothing is read before it is there.
 */
import { describe, expect, test } from 'vitest';
import { bars, frames } from '../../../src/core/units/index.js';
import { Engine } from '../../../src/core/render/engine.js';
import type { EngineObservation } from '../../../src/core/render/observations.js';
import type { EngineReport } from '../../../src/core/render/commands.js';
import { sampleRate } from '../../../src/core/units/index.js';
import { Performance } from '../../support/performance.js';
import { programOf } from '../../support/programs.js';
import { firstDifference, noiseAt } from '../../support/signals.js';

const BAR = 120_000;
/** 10 ms before a line, where the seam is. */
const SEAM = 480;
const noise = (frame: number): number => Math.fround(0.2 * noiseAt(frame, 7));

/** Nothing, two pieces, a twentieth, a fifth and three tenths of a second. */
const LAGS = [0, 960, 2400, 9600, 14_400];

function performing(countedLag: number, channels = 1): Performance {
  const p = new Performance({ countedLag, channels });
  p.useProgram(programOf());
  p.play = noise;
  p.playOn = (channel, frame) => Math.fround(0.2 * noiseAt(frame, 20 + channel));
  return p;
}

describe.each(LAGS)('frames that were counted and come %i late', (lag) => {
  test('get the numbers of the engine frames in which its own input brings them', () => {
    const p = performing(lag);
    expect(p.observations).toEqual([{ type: 'capture-settled', at: expect.any(Number) as number, agreed: true }]);
    p.runUntil(p.rendered + 10_000);
    expect(p.rendered - p.engine.captured - lag).toBeGreaterThanOrEqual(0);
    expect(p.rendered - p.engine.captured - lag).toBeLessThan(480);
  });

  test('become a layer that lies where it was played, to the frame', () => {
    const p = performing(lag, 2);
    p.rules(null, 1, { channels: [0, 1] });
    p.pressAt(p.heard);
    const { origin } = p;
    p.pressAt(origin + 2 * BAR + 700);
    const closed = p.runUntilReport('layer-closed');
    expect(closed).toMatchObject({ at: origin + 2 * BAR, bodyFrames: 2 * BAR });
    expect(p.rendered - closed.at - p.roundTrip - lag).toBeGreaterThanOrEqual(0);
    p.runUntilReport('recording-ended');
    for (const [channel, played] of [p.play, (frame: number) => p.playOn(1, frame)].entries()) {
      const stored = Float32Array.from(p.stored.get(closed.audio)?.[channel] ?? []);
      const body = stored.slice(closed.bodyStart, closed.bodyStart + closed.bodyFrames);
      expect(body).toHaveLength(2 * BAR);
      expect(
        firstDifference(
          body,
          Float32Array.from(body, (_, i) => played(origin + i)),
        ),
      ).toBe(-1);
    }
    p.runUntil(origin + 7 * BAR);
    const round = p.left.slice(origin + 4 * BAR, origin + 6 * BAR - SEAM);
    const both = (i: number): number => p.play(origin + i) + p.playOn(1, origin + i);
    expect(
      firstDifference(
        round,
        Float32Array.from(round, (_, i) => both(i)),
      ),
    ).toBe(-1);
    expect(p.all('fault')).toEqual([]);
  });

  test('are all in what is kept after the fact, up to the press', () => {
    const p = performing(lag);
    p.runUntil(p.rendered + 3 * BAR);
    const pressed = p.rendered;
    p.handle({ type: 'keep-that', heard: frames(p.heard), bars: bars(4) });
    expect(p.last('past-kept').at).toBe(pressed);
    p.runUntilReport('recording-ended');
    const { audio, at } = p.last('recording-started');
    const stored = Float32Array.from(p.stored.get(audio)?.[0] ?? []);
    expect(stored).toHaveLength(pressed - at);
    const last = stored.slice(-2 * BAR);
    const played = Float32Array.from(last, (_, i) => noise(pressed - 2 * BAR + i - p.roundTrip));
    expect(firstDifference(last, played)).toBe(-1);
  });

  test('are kept as whole bars while something plays', () => {
    const p = performing(lag);
    p.handle({ type: 'play', heard: frames(p.heard) });
    const { origin } = p;
    const heard = origin + 3 * BAR + 5000;
    p.runUntil(heard + p.outputDelay);
    p.handle({ type: 'keep-that', heard: frames(heard), bars: bars(2) });
    const closed = p.runUntilReport('layer-closed');
    p.runUntilReport('recording-ended');
    const stored = Float32Array.from(p.stored.get(closed.audio)?.[0] ?? []);
    const body = stored.slice(closed.bodyStart, closed.bodyStart + closed.bodyFrames);
    expect(body).toHaveLength(2 * BAR);
    expect(
      firstDifference(
        body,
        Float32Array.from(body, (_, i) => noise(origin + BAR + i)),
      ),
    ).toBe(-1);
  });

  test('are a loop without a tempo, from press to press', () => {
    const p = performing(lag);
    p.rules(null, 1, { withoutTempo: true });
    const from = p.heard + 5000;
    p.pressAt(from);
    p.pressAt(from + 150_000);
    const closed = p.runUntilReport('free-closed');
    p.handle({ type: 'stop', heard: frames(p.heard) });
    p.runUntilReport('recording-ended');
    const stored = Float32Array.from(p.stored.get(closed.audio)?.[0] ?? []);
    const body = stored.slice(closed.from, closed.to);
    expect(body).toHaveLength(150_000);
    expect(
      firstDifference(
        body,
        Float32Array.from(body, (_, i) => noise(from + i)),
      ),
    ).toBe(-1);
  });
});

test.each([1, 77, 441, 1000])('in blocks of %i the same is recorded of frames that were counted', (size) => {
  const p = new Performance({
    countedLag: 960,
    blockSize: () => size,
    rate: 22_050,
    roundTrip: 1500,
    outputDelay: 800,
  });
  p.useProgram(programOf({ rate: 22_050 }));
  p.play = noise;
  p.rules(1);
  p.pressAt(p.heard);
  const { origin } = p;
  const closed = p.runUntilReport('layer-closed');
  p.runUntilReport('recording-ended');
  const stored = Float32Array.from(p.stored.get(closed.audio)?.[0] ?? []);
  const body = stored.slice(closed.bodyStart, closed.bodyStart + closed.bodyFrames);
  expect(body).toHaveLength(55_125);
  expect(
    firstDifference(
      body,
      Float32Array.from(body, (_, i) => noise(origin + i)),
    ),
  ).toBe(-1);
});

describe('an engine whose input is counted elsewhere', () => {
  const RATE = 48_000;
  const BLOCK = 128;

  function engine() {
    const observations: EngineObservation[] = [];
    const reports: EngineReport[] = [];
    const made = new Engine(
      { sampleRate: sampleRate(RATE), inputChannels: 1, ringSeconds: 4 },
      (report) => reports.push(report),
      (observation) => observations.push(observation),
    );
    const run = (until: number, sample: (frame: number) => number = () => 0): void => {
      const out = [new Float32Array(BLOCK), new Float32Array(BLOCK)];
      while (made.rendered < until) {
        const { rendered } = made;
        made.send([Float32Array.from(out[0]!, (_, i) => sample(rendered + i))], out, BLOCK);
      }
    };
    return { made, observations, reports, run };
  }

  test('numbers a silent input so that it comes in time, after a second', () => {
    const { made, observations, run } = engine();
    made.useCounted();
    run(1280);
    // Ten pieces have waited; from then on each comes 200 frames late.
    for (let piece = 0; piece < 10; piece++) made.takeCounted([new Float32Array(100)], 100 * piece, 100);
    for (let piece = 10; piece < 500; piece++) {
      run(1280 + 200 + 100 * (piece - 9));
      made.takeCounted([new Float32Array(100)], 100 * piece, 100);
    }
    expect(observations).toEqual([{ type: 'capture-settled', at: expect.any(Number) as number, agreed: false }]);
    // Never ahead of what the engine has rendered, and at most two blocks and a piece behind.
    expect(made.rendered - made.captured).toBeGreaterThanOrEqual(0);
    expect(made.rendered - made.captured).toBeLessThan(2 * BLOCK + 100);
  });

  test('takes none before it was told to', () => {
    const { made, run } = engine();
    run(1024);
    made.takeCounted([new Float32Array(100)], 0, 100);
    expect(made.captured).toBe(1024);
  });

  test('does not record what its own input brings', () => {
    const { made, run } = engine();
    run(1024);
    made.useCounted();
    run(4096, () => 0.5);
    expect(made.captured).toBe(1024);
  });

  test('says how many frames were left out, and counts on', () => {
    const { made, reports, run } = engine();
    made.useCounted();
    run(1280);
    made.takeCounted([new Float32Array(100)], 0, 100);
    const before = made.captured;
    made.takeCounted([new Float32Array(100)], 350, 100);
    expect(made.captured).toBe(before + 350);
    expect(reports.filter(({ type }) => type === 'fault')).toEqual([
      { type: 'fault', at: made.rendered, kind: 'frames-lost', count: 250 },
    ]);
  });

  test('silences what is no number, and says so once', () => {
    const { made, reports, run } = engine();
    made.useCounted();
    run(1280);
    const piece = new Float32Array(100);
    piece[7] = NaN;
    made.takeCounted([piece], 0, 100);
    run(2560);
    expect(piece[7]).toBe(0);
    expect(reports.filter(({ type }) => type === 'fault')).toMatchObject([{ kind: 'not-a-number', count: 1 }]);
  });

  test('tells a shift of its own input, and what is recorded does not move', () => {
    const { made, observations, run } = engine();
    made.useCounted();
    let counted = 0;
    const both = (until: number, shift: number): void => {
      while (made.rendered < until) {
        run(made.rendered + BLOCK, (frame) => noise(frame - shift));
        for (; counted + 480 <= made.rendered; counted += 480) {
          made.takeCounted([Float32Array.from({ length: 480 }, (_, i) => noise(counted + i))], counted, 480);
        }
      }
    };
    both(RATE, 0);
    both(3 * RATE, 1024);
    expect(observations.slice(1)).toEqual([{ type: 'path-shift', from: 375 * BLOCK, to: 375 * BLOCK, frames: 1024 }]);
    expect(made.rendered - made.captured).toBeLessThan(480);
  });
});
