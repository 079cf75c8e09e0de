import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { listenTo } from '../../../src/core/listen/excerpt.js';
import { PhraseFinder } from '../../../src/core/listen/phrase.js';
import type { FreeLoop } from '../../../src/core/loop/free-loop.js';
import { freeLoop, LISTEN_AFTER_SECONDS } from '../../../src/core/loop/free-loop.js';
import { bars, frames, sampleRate } from '../../../src/core/units/index.js';
import { Performance } from '../../support/performance.js';
import type { PerformanceOptions } from '../../support/performance.js';
import { programOf } from '../../support/programs.js';
import { SongPage } from '../../support/song-page.js';
import { firstDifference, largestStep, noiseAt, strokes } from '../../support/signals.js';

const RATE = 48_000;
/** 10 ms before a line, where the seam is. */
const SEAM = 480;

/** Block sizes of all kinds, always the same for a seed. */
function randomBlocks(seed: number): () => number {
  let next = seed;
  return () => 1 + Math.floor((noiseAt(next++, 3) + 1) * 300);
}

/** Eight beats at 100 a minute, no two alike, round and round, from heard frame FIRST on. */
const FIRST = 90_000;
const BEAT = 28_800;
const LOOP = 8 * BEAT;
const parts = [0, 1, 2, 3].map((kind) =>
  strokes(
    Array.from({ length: 200 }, (_, i) => 4 * i + kind).map((i) => FIRST + i * BEAT),
    { seed: 31 + kind, level: kind === 0 ? 0.4 : 0.2, decay: 2500 },
  ),
);
const figure = (frame: number): number => Math.fround(parts.reduce((sum, part) => sum + part(frame), 0));

interface Joined {
  readonly p: Performance;
  readonly loop: FreeLoop;
  /** Engine frames: of the second press as it was heard, and after which the loop was joined. */
  readonly pressed: number;
  readonly joined: number;
  /** Engine frame of line 0. */
  readonly origin: number;
}

/** Plays without a tempo, closes the loop, and does what a page would do with it. */
function playFreely(options: PerformanceOptions, pressOff: number, endOff: number): Joined {
  const p = new Performance(options);
  p.useProgram(programOf());
  p.rules(null, 1, { withoutTempo: true });
  p.play = figure;
  p.pressAt(FIRST + pressOff);
  const pressed = FIRST + LOOP + endOff;
  p.pressAt(pressed);
  const closed = p.last('free-closed');
  const stored = () => p.stored.get(closed.audio)?.[0] ?? [];
  while (stored().length < closed.to + LISTEN_AFTER_SECONDS * RATE) p.runUntil(p.rendered + 1);
  const excerpt = (press: number) => {
    const at = Math.max(0, press - 16_800);
    const samples = Float32Array.from(stored().slice(at, press + LISTEN_AFTER_SECONDS * RATE));
    return listenTo(samples, frames(at), sampleRate(RATE));
  };
  const loop = freeLoop(excerpt(closed.from), excerpt(closed.to), closed, sampleRate(RATE));
  const layer = { voice: 1_000_000, audio: closed.audio, bodyStart: loop.start, bodyFrames: loop.frames, bars: 2 };
  p.useProgram(programOf({ bpm: 100, sectionBars: 2, layers: [layer] }, 2, 0));
  const origin = closed.heardFrom + loop.start - closed.from;
  p.handle({ type: 'join', origin: frames(origin) });
  return { p, loop, pressed, joined: p.rendered, origin };
}

describe('a loop without a tempo', () => {
  test('goes round at the length that was played, whatever the presses and the blocks', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: -5760, max: 5760 }),
        fc.integer({ min: -5760, max: 5760 }),
        fc.nat({ max: 1000 }),
        fc.constantFrom(1200, 4928, 14_000),
        (pressOff, endOff, seed, roundTrip) => {
          const { p, loop, pressed, joined, origin } = playFreely(
            { blockSize: randomBlocks(seed), roundTrip, outputDelay: Math.min(2000, roundTrip) },
            pressOff,
            endOff,
          );
          expect(loop).toMatchObject({ frames: LOOP, sure: true });
          expect(Math.abs(origin - FIRST)).toBeLessThanOrEqual(48);
          // The press was heard so long ago that the player waits no more than this for what was rendered.
          expect(joined - pressed).toBeLessThan(0.7 * RATE + Math.max(0, roundTrip - 4928));
          p.runUntil(origin + 4 * LOOP);
          const out = p.left;
          // In phase to the frame: what is heard at a frame is what was played at that place of the loop.
          const from = origin + 2 * LOOP;
          const wrong = Array.from({ length: LOOP - SEAM }, (_, i) => i).findIndex(
            (i) => out[from + i] !== figure(origin + i),
          );
          expect(wrong).toBe(-1);
          expect(p.all('fault')).toEqual([]);
        },
      ),
      { numRuns: 8 },
    );
  });

  test('joins under way over a short fade, without a step', () => {
    const { p, joined, origin } = playFreely({}, 2000, 0);
    p.runUntil(joined + RATE);
    const out = p.left;
    expect(out.slice(0, joined).every((sample) => sample === 0)).toBe(true);
    const from = joined + 1000;
    const wrong = Array.from({ length: 20_000 }, (_, i) => from + i).findIndex(
      (frame) => out[frame] !== figure(frame - LOOP),
    );
    expect(wrong).toBe(-1);
    expect(origin).toBeLessThan(joined - LOOP);
    const usual = largestStep(out, joined + 2000, joined + RATE);
    expect(largestStep(out, joined - 200, joined + 1000)).toBeLessThanOrEqual(usual);
  });

  test('that is not waited for any more is not joined', () => {
    const p = new Performance();
    p.useProgram(programOf());
    p.rules(null, 1, { withoutTempo: true });
    p.pressAt(FIRST);
    p.handle({ type: 'join', origin: frames(0) });
    expect(p.engine.plan).toMatchObject({ type: 'free', endsAt: null });
    p.pressAt(FIRST + LOOP);
    p.handle({ type: 'stop', heard: frames(p.heard) });
    p.handle({ type: 'join', origin: frames(0) });
    expect(p.engine.plan.type).toBe('stopped');
    expect(p.all('pass-dropped')).toEqual([]);
  });

  test('read as other bars goes on where it is, and later rounds have the new length', () => {
    const { p, loop, origin } = playFreely({}, 0, 0);
    const closed = p.last('free-closed');
    const layer = (bodyFrames: number, count: number) => ({
      voice: 1_000_000,
      audio: closed.audio,
      bodyStart: loop.start,
      bodyFrames,
      bars: count,
    });
    p.runUntil(origin + 3 * LOOP + LOOP / 3);
    // Seven bars of whole frames are a frame longer or so than two.
    const bar = Math.round(LOOP / 7);
    const body = 7 * bar;
    expect(body).not.toBe(LOOP);
    p.useProgram(programOf({ bpm: (RATE * 240) / bar, sectionBars: 7, layers: [layer(body, 7)] }, 3, 0));
    p.runUntil(origin + 6 * LOOP);
    const out = p.left;
    const round = (start: number, from: number, count: number): number =>
      Array.from({ length: count }, (_, i) => from + i).findIndex((i) => out[start + i] !== figure(origin + i));
    expect(round(origin + 3 * LOOP, 0, LOOP - SEAM)).toBe(-1);
    expect(round(origin + 3 * LOOP + body, 0, LOOP - SEAM)).toBe(-1);
    expect(round(origin + 3 * LOOP + 2 * body, 0, LOOP / 2)).toBe(-1);
    // Bars are counted by the new reading, from lines that lie on the rounds.
    expect(p.origin).toBe(origin + 3 * LOOP - 3 * body);
  });
});

/** A small engine: its ring holds 2^18 frames, nearly eleven bars of 4/4 at 240. */
const SMALL = { rate: 24_000, ringSeconds: 10, roundTrip: 2400, outputDelay: 960 } as const;
const BAR = 24_000;

/** The click alone goes round, and somebody plays over it. */
function over(play: (frame: number) => number, options: PerformanceOptions = {}): Performance {
  const p = new Performance({ ...SMALL, ...options });
  p.useProgram(programOf({ rate: SMALL.rate, bpm: 240 }));
  p.play = play;
  p.handle({ type: 'play', heard: frames(0) });
  return p;
}

function keepThat(p: Performance, heard: number, count: number): void {
  p.runUntil(heard + p.outputDelay);
  p.handle({ type: 'keep-that', heard: frames(heard), bars: bars(count) });
}

describe('keep that', () => {
  const noise = (frame: number): number => Math.fround(0.2 * noiseAt(frame, 7));

  test('makes a pass of the last whole bars, equal to the bit to what was played', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 8 }),
        fc.integer({ min: 9, max: 60 }),
        fc.integer({ min: -BAR / 2, max: BAR / 2 - 1 }),
        fc.nat({ max: 1000 }),
        (count, line, off, seed) => {
          const p = over(noise, { blockSize: randomBlocks(seed) });
          const { origin } = p;
          keepThat(p, origin + line * BAR + off, count);
          const closed = p.runUntilReport('layer-closed');
          expect(closed).toMatchObject({ bars: count, bodyFrames: count * BAR, at: origin + line * BAR });
          // The phrase's own line becomes line 0: played from the top, it begins where it began.
          expect(closed.startBar).toBe(0);
          expect(p.origin).toBe(origin + (line - count) * BAR);
          p.runUntilReport('recording-ended');
          const kept = p.stored.get(closed.audio)?.[0]?.slice(closed.bodyStart, closed.bodyStart + closed.bodyFrames);
          const start = origin + (line - count) * BAR;
          expect(kept?.findIndex((sample, i) => sample !== noise(start + i))).toBe(-1);
          expect(kept).toHaveLength(count * BAR);
          expect(p.all('fault').filter(({ kind }) => kind === 'frames-lost')).toEqual([]);
        },
      ),
      { numRuns: 12 },
    );
  });

  test('is heard at once, in phase, and the next rounds are whole', () => {
    const p = over(noise);
    const { origin } = p;
    p.play = (frame) => (frame < origin + 8 * BAR ? noise(frame) : 0);
    keepThat(p, origin + 8 * BAR + 100, 2);
    p.runUntil(origin + 14 * BAR);
    const out = p.left;
    const from = origin + 10 * BAR;
    const wrong = Array.from({ length: 2 * BAR - SEAM }, (_, i) => i).findIndex(
      (i) => out[from + i] !== noise(origin + 6 * BAR + i),
    );
    expect(wrong).toBe(-1);
  });

  test.each([
    // Of nearly eleven bars, two thirds of one may be overwritten before they are copied.
    [40, 64, 10],
    [40, 8, 8],
    [100, 64, 10],
    [7, 64, 7],
  ])('at line %i, of %i bars, keeps the %i that are held', (line, count, kept) => {
    const p = over(noise);
    const { origin } = p;
    keepThat(p, origin + line * BAR, count);
    const closed = p.runUntilReport('layer-closed');
    expect(closed.bars).toBeLessThanOrEqual(count);
    expect(closed.bars).toBe(kept);
    expect(closed.at).toBe(origin + line * BAR);
    p.runUntilReport('recording-ended');
    const body = p.stored.get(closed.audio)?.[0]?.slice(closed.bodyStart, closed.bodyStart + closed.bodyFrames);
    expect(body?.findIndex((sample, i) => sample !== noise(closed.at - closed.bodyFrames + i))).toBe(-1);
    expect(p.all('fault').filter(({ kind }) => kind === 'frames-lost')).toEqual([]);
  });

  test('refuses where not even the last bar is held', () => {
    const p = over(noise);
    p.useProgram(programOf({ rate: SMALL.rate, bpm: 20 }, 2));
    const { origin } = p;
    keepThat(p, origin + 12 * BAR, 4);
    expect(p.last('refused')).toMatchObject({ command: 'keep-that', why: 'not-in-the-ring' });
    expect(p.all('recording-started')).toEqual([]);
  });

  test.each([
    ['before half a bar has gone by', 0.4, 'no-whole-bar'],
    ['while something is recorded', 3, 'still-recording'],
  ])('refuses %s', (_, at, why) => {
    const p = over(noise);
    const { origin } = p;
    if (why === 'still-recording') p.pressAt(origin + 2 * BAR);
    keepThat(p, Math.round(origin + at * BAR), 4);
    expect(p.last('refused')).toMatchObject({ command: 'keep-that', why });
  });

  test('is no refusal while an earlier pass is still coming in: what came after it is kept', () => {
    const p = over(noise, { roundTrip: 2 * BAR });
    p.rules(2);
    const { origin } = p;
    p.pressAt(origin + 2 * BAR);
    keepThat(p, p.origin + 3 * BAR, 1);
    expect(p.all('layer-closed')).toEqual([]);
    expect(p.all('refused')).toEqual([]);
    const [first, second] = [1, 2].map((pass) => p.runUntilReport('layer-closed', (report) => report.pass === pass));
    expect([first, second].map((closed) => [closed?.startBar, closed?.bars])).toEqual([
      [0, 2],
      [2, 1],
    ]);
  });

  describe('never keeps a bar twice', () => {
    const length = bars(4);
    const CUT = 4800;

    /** A first loop of four bars, from the line that becomes line 0, and a page that knows it. */
    function firstLoop(channels: readonly number[] = [0]) {
      const p = over(noise, { channels: channels.length });
      p.playOn = (_, frame) => noise(frame);
      p.rules(4, 1, { loopBars: length, channels });
      p.pressAt(p.origin + 2 * BAR);
      const page = new SongPage(p, { rate: SMALL.rate, barFrames: BAR, pulses: 4, beats: 0b1111 });
      page.take(p.runUntilReport('layer-closed'));
      page.send();
      const press = (bar: number): void => {
        keepThat(p, Math.round(p.origin + bar * BAR), 4);
        p.runUntil(p.rendered + CUT);
      };
      return { p, page, press };
    }

    const kept = (p: Performance) => p.all('layer-closed').map((closed) => [closed.startBar, closed.bars]);
    const refused = (p: Performance) => p.all('refused').map(({ why }) => why);

    test('a bar after the first loop, that bar alone is kept', () => {
      const { p, press } = firstLoop();
      press(5.05);
      expect(kept(p)).toEqual([
        [0, 4],
        [4, 1],
      ]);
    });

    test('pressed twice, a quarter of a bar apart, there is one layer', () => {
      const { p, press } = firstLoop();
      press(12.05);
      expect(kept(p)).toHaveLength(2);
      press(12.3);
      expect(kept(p)).toEqual([
        [0, 4],
        [8, 4],
      ]);
      expect(refused(p)).toEqual(['kept-already']);
    });

    test('nor over the click alone, though line 0 moves', () => {
      const p = over(noise);
      const { origin } = p;
      keepThat(p, origin + 6 * BAR, 4);
      p.runUntilReport('layer-closed');
      keepThat(p, origin + 6 * BAR + BAR / 4, 4);
      keepThat(p, origin + 8 * BAR, 4);
      p.runUntil(p.rendered + CUT);
      expect(refused(p)).toEqual(['kept-already']);
      expect(kept(p)).toEqual([
        [0, 4],
        [4, 2],
      ]);
    });

    test('nor of a loop without a tempo', () => {
      const { p, origin } = playFreely({}, 3000, -4000);
      // Two bars of it were played, then they are heard.
      keepThat(p, Math.round(origin + 1.1 * LOOP), 8);
      expect(refused(p)).toEqual(['kept-already']);
      keepThat(p, Math.round(origin + 2.6 * LOOP), 8);
      p.runUntil(p.rendered + CUT);
      expect(kept(p)).toEqual([[2, 3]]);
    });

    test('but what was taken back can be kept again', () => {
      const { p, page, press } = firstLoop();
      press(12.05);
      const second = p.last('layer-closed');
      page.take(second);
      page.send();
      page.layers = page.layers.filter(({ voice }) => voice !== second.pass);
      page.send();
      press(13.1);
      expect(refused(p)).toEqual([]);
      expect(kept(p).slice(1)).toEqual([
        [8, 4],
        [9, 4],
      ]);
    });

    test('a pass of two layers is kept while one of them is there', () => {
      const { p, page, press } = firstLoop([0, 1]);
      page.layers = page.layers.slice(1);
      page.send();
      press(4.3);
      expect(refused(p)).toEqual(['kept-already']);
    });
  });

  test('over a loop keeps as many bars as go round with it, and says how many it left out', () => {
    const p = over(noise);
    p.rules(4, 1, { loopBars: bars(4) });
    const { origin } = p;
    keepThat(p, origin + 3 * BAR, 4);
    expect(p.runUntilReport('layer-closed')).toMatchObject({ bars: 2, at: origin + 3 * BAR });
    expect(p.last('bars-kept')).toMatchObject({ pass: 1, leftOut: 1 });
  });

  test('when nothing plays keeps all that the ring holds, and the last phrase is in it', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 4, max: 30 }),
        fc.integer({ min: 1, max: 10 }),
        fc.nat({ max: 1000 }),
        (...given) => {
          const [seconds, notes, seed] = given;
          const p = new Performance({ ...SMALL, blockSize: randomBlocks(seed), channels: 2 });
          p.useProgram(programOf({ rate: SMALL.rate }));
          const from = seconds * SMALL.rate;
          const onsets = Array.from({ length: notes }, (__, i) => from + i * 9000);
          // Something before it, and a pause of two seconds.
          const before = strokes([from - 60_000, from - 52_000], { decay: 300, seed: 2 });
          const phrase = strokes(onsets, { decay: 300, seed: 5 });
          p.play = (frame) => Math.fround(before(frame) + phrase(frame));
          const end = (onsets.at(-1) ?? 0) + 8000;
          p.runUntil(end + 3000);
          p.handle({ type: 'keep-that', heard: frames(p.heard), bars: bars(4) });
          const kept = p.last('past-kept');
          p.runUntilReport('recording-ended');
          const started = p.last('recording-started');
          const stored = Float32Array.from(p.stored.get(kept.audio)?.[0] ?? []);
          expect(stored.length).toBe(kept.at - started.at);
          const shouldBe = stored.map((_, i) => p.play(started.at + i - p.roundTrip));
          expect(firstDifference(stored, shouldBe)).toBe(-1);
          expect(p.stored.get(kept.audio)?.[1]).toHaveLength(stored.length);
          const finder = new PhraseFinder(sampleRate(SMALL.rate));
          finder.add(stored);
          const found = finder.last();
          if (found === null) throw new Error('Got no phrase when expected one.');
          const heardFrom = started.at + found.start - p.roundTrip;
          expect(heardFrom).toBeLessThanOrEqual(from);
          expect(heardFrom).toBeGreaterThan(from - 12_000);
          expect(heardFrom + found.frames).toBeGreaterThan(onsets.at(-1) ?? Infinity);
          expect(p.engine.plan.type).toBe('stopped');
          expect(p.all('fault')).toEqual([]);
        },
      ),
      { numRuns: 8 },
    );
  });
});
