/**
 * Scripted layering: several layers from one pass, another take, layering kept up, passes taken back at every moment, and a
 * page that answers when it likes. No voice is lost, none sounds twice, and no audio of a pass is missing.
 */
import { describe, expect, test } from 'vitest';
import fc from 'fast-check';
import type { EngineReport } from '../../../src/core/render/commands.js';
import { bars, frames } from '../../../src/core/units/index.js';
import { Performance } from '../../support/performance.js';
import type { PerformanceOptions } from '../../support/performance.js';
import type { ReferenceVoice } from '../../support/reference-mixer.js';
import { greatestError } from '../../support/reference-mixer.js';
import { crossfaded } from '../../support/row-programs.js';
import { noiseAt } from '../../support/signals.js';
import { SongPage } from '../../support/song-page.js';

type Closed = Extract<EngineReport, { type: 'layer-closed' }>;

const RATE = 48_000;
const BAR = 24_000;
const GRID = { rate: RATE, barFrames: BAR, pulses: 4, beats: 0b1111 };
const PEAK = 0.05;
const AGREE = 1e-7;
/** Gains are ramped within 10 ms (engine contract 4). */
const RAMP = 480;

const played = (channel: number, heard: number): number => Math.fround(PEAK * noiseAt(heard, 11 + channel));

/** A page with a player who plays noise on every channel, other noise at every frame, and never stops. */
function stage(options: PerformanceOptions = {}) {
  const p = new Performance({ channels: 2, roundTrip: 3000, outputDelay: 1500, ...options });
  p.play = (heard) => played(0, heard);
  p.playOn = (channel, heard) => played(channel, heard);
  const page = new SongPage(p, GRID);
  page.send();
  p.rules(2);
  p.runUntil(1000);
  return { p, page };
}

/** The first loop of two bars, and a page that knows it. */
function looping(options: PerformanceOptions = {}) {
  const { p, page } = stage(options);
  p.pressAt(1000);
  const first = closedAt(p, 0);
  page.take(first);
  page.send();
  return { p, page, first, origin: p.origin };
}

/** The pass that closes as number `index`, from 0. */
const closedAt = (p: Performance, index: number): Closed =>
  p.runUntilReport('layer-closed', (report) => p.all('layer-closed').indexOf(report) === index);

/** What was played in bars [from, to), coming round for ever. */
function heardOf(origin: number, from: number, to: number, channel = 0, gain = 1): ReferenceVoice {
  const into = from % (to - from);
  return {
    audio: (frame) => played(channel, origin + from * BAR + frame),
    bodyStart: 0,
    bodyFrames: (to - from) * BAR,
    start: (into === 0 ? 0 : into - (to - from)) * BAR,
    end: Infinity,
    left: gain,
    right: gain,
    ...crossfaded(480, 0),
  };
}

/** What sounds from engine frame `from` on, for `count` frames, is these voices and nothing else. */
function expectOnly(
  p: Performance,
  origin: number,
  voices: readonly ReferenceVoice[],
  from: number,
  count: number,
): void {
  p.runUntil(from + count + 500);
  expect(greatestError(p, [{ origin, voices }], from, from + count, PEAK)).toBeLessThanOrEqual(AGREE);
}

/** Every frame of a pass is in the recording that its layer names. */
function expectStored(p: Performance, closed: Closed): void {
  p.runUntil(p.rendered + RATE / 10);
  const line = closed.at - closed.bodyFrames;
  closed.channels.forEach((channel) => {
    const body = p.stored.get(closed.audio)![channel]!.slice(closed.bodyStart, closed.bodyStart + closed.bodyFrames);
    expect(body).toHaveLength(closed.bodyFrames);
    expect(body.findIndex((sample, i) => sample !== played(channel, line + i))).toBe(-1);
  });
}

/** Each recording that was begun ends once, or goes on. */
function expectRecordingsOnce(p: Performance): void {
  const ended = p.all('recording-ended').map(({ audio }) => audio);
  expect(ended).toEqual([...new Set(ended)]);
  for (const { audio, frames: length } of p.all('recording-ended'))
    expect(p.stored.get(audio)![0]).toHaveLength(length);
}

describe('several layers from one pass', () => {
  test('come from one press, one channel each, and sound from the closing line on', () => {
    const { p, page } = stage();
    p.rules(2, 1, { channels: [1, 0] });
    p.pressAt(1000);
    const { origin } = p;
    const closed = closedAt(p, 0);
    expect(closed).toMatchObject({ channels: [1, 0], bars: 2, bodyFrames: 2 * BAR });
    expectStored(p, closed);
    const both = [heardOf(origin, 0, 2, 1), heardOf(origin, 0, 2, 0)];
    expectOnly(p, origin, both, origin + 2 * BAR, 30_000);
    page.take(closed);
    page.send();
    expectOnly(p, origin, both, p.rendered, 3 * BAR);
    expect(p.all('recording-started')).toHaveLength(1);
  });

  test('are taken back together, by a program that knows the pass and has none of them', () => {
    const { p, page } = stage();
    p.rules(2, 1, { channels: [0, 1] });
    p.pressAt(1000);
    const closed = closedAt(p, 0);
    p.runUntil(closed.at + BAR);
    // Both the number of the pass and that of its last voice name it.
    p.useProgram({ ...page.program(), revision: 9, passesKnown: closed.pass });
    expectOnly(p, p.origin, [], p.rendered + RAMP, BAR);
    p.useProgram({ ...page.program(), revision: 10, passesKnown: closed.pass + 1 });
    expectOnly(p, p.origin, [], p.rendered, BAR);
  });

  test('are whole when the channels change while an earlier pass is coming in', () => {
    const { p, page } = stage();
    p.pressAt(1000);
    const { origin } = p;
    p.runUntil(origin + BAR);
    p.rules(2, 1, { channels: [0, 1] });
    p.pressAt(origin + BAR + 2000);
    const [first, second] = [closedAt(p, 0), closedAt(p, 1)];
    expect([first.channels, second.channels]).toEqual([[0], [0, 1]]);
    expect(second.at - second.bodyFrames).toBe(first.at);
    expectStored(p, first);
    expectStored(p, second);
    for (const closed of [first, second]) page.take(closed);
    page.send();
    const all = [heardOf(origin, 0, 2), heardOf(origin, 2, 4, 0), heardOf(origin, 2, 4, 1)];
    expectOnly(p, origin, all, p.rendered + RAMP, 3 * BAR);
    p.runUntil(p.rendered + 6 * RATE);
    expectRecordingsOnce(p);
  });
});

describe('another take', () => {
  const takes = () => {
    const set = looping();
    set.p.rules(2, 1, { replaces: set.first.pass });
    return set;
  };

  test('silences the layer from the line on at which it begins, and takes its place at the line where it closes', () => {
    const { p, page, origin } = takes();
    p.pressAt(origin + 4 * BAR - 3000);
    const old = heardOf(origin, 0, 2);
    expectOnly(p, origin, [old], origin + 4 * BAR - 2000, 2000);
    expectOnly(p, origin, [], origin + 4 * BAR + RAMP, 2 * BAR - RAMP - 480);
    const closed = closedAt(p, 1);
    expect(closed).toMatchObject({ startBar: 4, bars: 2, replaces: 1 });
    const fresh = heardOf(origin, 4, 6);
    expectOnly(p, origin, [fresh], origin + 6 * BAR, BAR);
    page.take(closed);
    page.send();
    expectOnly(p, origin, [fresh], p.rendered, 2 * BAR);
  });

  test.each([
    ['before its line', 3.6],
    ['in its first bar', 4.4],
    ['in its last', 5.8],
    ['after its closing line, before it has come in', 6.05],
  ])('taken back %s gives the layer back within 10 ms', (_when, bar) => {
    const { p, origin } = takes();
    p.pressAt(origin + 4 * BAR - 11_000);
    p.runUntil(origin + Math.round(bar * BAR));
    p.handle({ type: 'take-back', heard: frames(p.heard) });
    expect(p.last('pass-dropped').pass).toBe(2);
    const at = p.rendered;
    expectOnly(p, origin, [heardOf(origin, 0, 2)], at + RAMP, 2 * BAR);
    p.runUntil(origin + 9 * BAR);
    expect(p.all('layer-closed')).toHaveLength(1);
  });

  test('of another take, one after the other, leaves only the newest sounding', () => {
    const { p, page, origin } = takes();
    p.rules(2, 1, { replaces: 1, keepLayering: true });
    p.pressAt(origin + 4 * BAR - 3000);
    // The page hears of the first only when the second is coming in, and says so then.
    const second = closedAt(p, 1);
    p.runUntil(second.at + BAR / 2);
    expectOnly(p, origin, [], p.rendered, BAR / 4);
    page.take(second);
    page.send();
    expectOnly(p, origin, [], p.rendered, BAR / 4);
    p.pressAt(second.at + BAR + 2000);
    const third = closedAt(p, 2);
    expectOnly(p, origin, [heardOf(origin, 6, 8)], third.at, BAR);
    page.layers = [];
    page.take(third);
    page.send();
    expectOnly(p, origin, [heardOf(origin, 6, 8)], p.rendered, BAR);
    expect(p.all('layer-closed')).toHaveLength(3);
  });

  test('taken back by the page gives the old take back', () => {
    const { p, page, origin } = takes();
    const before = page.layers;
    p.pressAt(origin + 4 * BAR - 3000);
    page.take(closedAt(p, 1));
    page.send();
    p.runUntil(p.rendered + BAR);
    page.layers = [...before];
    page.send();
    expectOnly(p, origin, [heardOf(origin, 0, 2)], p.rendered + RAMP, 2 * BAR);
  });

  test('leaves a layer alone that is removed while its silence is still to come', () => {
    const { p, page, origin } = takes();
    p.pressAt(origin + 4 * BAR - 11_000);
    page.layers = [];
    page.send();
    expectOnly(p, origin, [], p.rendered + RAMP, 2000);
  });

  test('begins its silence in time though a gain is on its way', () => {
    const { p, page, origin } = takes();
    page.layers = page.layers.map((layer) => ({ ...layer, left: 0.25, right: 0.25 }));
    p.runUntil(origin + 4 * BAR - 9000);
    page.send();
    p.pressAt(p.heard);
    const at = p.rendered;
    expectOnly(p, origin, [heardOf(origin, 0, 2, 0, 0.25)], at + RAMP, 2000);
    // Noise has steps of its own; the sum never goes beyond what the gain allows on its way down from 1.
    const allowed = (i: number): number => PEAK * Math.max(0.25, 1 - (0.75 * (i - 1)) / RAMP);
    const louder = [...p.left.slice(at, at + RAMP)].some((sample, i) => Math.abs(sample) > allowed(i));
    expect(louder).toBe(false);
    expect(p.left.slice(at, at + 40).some((sample) => Math.abs(sample) > 0.5 * PEAK)).toBe(true);
  });
});

describe('layering kept up', () => {
  test('makes a layer of every pass, one unbroken recording, until the player says no', () => {
    const { p, page } = stage();
    p.rules(2, 1, { keepLayering: true });
    p.pressAt(1000);
    const { origin } = p;
    for (const index of [0, 1, 2]) page.take(closedAt(p, index));
    page.send();
    // In the fourth pass: this one still, and no more.
    p.pressAt(origin + 7 * BAR);
    page.take(closedAt(p, 3));
    page.send();
    p.runUntil(origin + 12 * BAR);
    const closed = p.all('layer-closed');
    expect(closed.map(({ startBar, bars: length }) => [startBar, length])).toEqual([0, 2, 4, 6].map((bar) => [bar, 2]));
    expect(new Set(closed.map(({ audio }) => audio)).size).toBe(1);
    expect(closed.map(({ bodyStart }) => bodyStart - closed[0]!.bodyStart)).toEqual(
      [0, 2, 4, 6].map((bar) => bar * BAR),
    );
    for (const each of closed) expectStored(p, each);
    const voices = [0, 2, 4, 6].map((bar) => heardOf(origin, bar, bar + 2));
    expectOnly(p, origin, voices, p.rendered, 2 * BAR);
  });
});

describe('a pass over a loop', () => {
  // Its line is 4, its closing line 6; it has come in whole at 6.125, and the page is told of it at 6.5.
  test.each([
    [3.7, false],
    [4.2, false],
    [5.9, false],
    [6.02, false],
    [6.1, false],
    [6.13, true],
    [6.3, true],
    [6.7, true],
    [8.9, true],
  ])('taken back at bar %f is gone within 10 ms, and nothing else is; it was a layer by then: %s', (bar, isLayer) => {
    const { p, page, origin } = looping();
    p.pressAt(origin + 4 * BAR - 11_000);
    p.runUntil(origin + Math.round(Math.min(bar, 6.5) * BAR));
    if (bar > 6.5) {
      page.take(closedAt(p, 1));
      page.send();
      p.runUntil(origin + Math.round(bar * BAR));
    }
    p.handle({ type: 'take-back', heard: frames(p.heard) });
    const refused = p.all('refused').some((report) => report.why === 'nothing-to-take-back');
    expect(refused).toBe(isLayer);
    if (isLayer) {
      // Then it is the page that takes it back; what closed before that was told of it, it is told of now.
      if (bar <= 6.5) page.take(closedAt(p, 1));
      page.layers = page.layers.slice(0, 1);
      page.send();
    }
    expectOnly(p, origin, [heardOf(origin, 0, 2)], p.rendered + RAMP, 3 * BAR);
    expect(p.all('layer-closed')).toHaveLength(isLayer ? 2 : 1);
    expect(p.all('pass-dropped')).toHaveLength(isLayer ? 0 : 1);
    p.runUntil(p.rendered + 6 * RATE);
    expectRecordingsOnce(p);
    for (const closed of p.all('layer-closed')) expectStored(p, closed);
  });

  test('sounds once and without a gap, whenever the page sends programs and whatever they know', () => {
    const program = fc.record({
      /** Frames after the closing line; negative before. */
      at: fc.integer({ min: -8000, max: 40_000 }),
      /** Whether it has been told of what has closed by then. */
      tells: fc.boolean(),
    });
    fc.assert(
      fc.property(fc.array(program, { minLength: 1, maxLength: 8 }), fc.integer({ min: 1, max: 700 }), (sent, size) => {
        const { p, page, origin } = looping({ blockSize: () => size });
        p.pressAt(origin + 4 * BAR - 11_000);
        const closesAt = origin + 6 * BAR;
        for (const { at, tells } of sent.toSorted((a, b) => a.at - b.at)) {
          p.runUntil(closesAt + at);
          for (const closed of p.all('layer-closed')) {
            if (tells && !page.layers.some((layer) => layer.voice === closed.pass)) page.take(closed);
          }
          page.send();
        }
        expectOnly(p, origin, [heardOf(origin, 0, 2), heardOf(origin, 4, 6)], closesAt, 3 * BAR);
      }),
      { numRuns: 12 },
    );
  }, 60_000);
});

describe('a pass that is followed by something else', () => {
  test('loses nothing when the player stops before its line: the nearest line is its end', () => {
    const { p } = stage();
    p.rules(null);
    p.pressAt(1000);
    const { origin } = p;
    p.runUntil(origin + 3 * BAR - 8000);
    p.handle({ type: 'stop', heard: frames(p.heard) });
    // A phrase is kept at once, of all that the ring holds, the pass that is still coming in among it.
    p.handle({ type: 'keep-that', heard: frames(p.heard), bars: bars(1) });
    const closed = closedAt(p, 0);
    expect(closed).toMatchObject({ startBar: 0, bars: 3, at: origin + 3 * BAR });
    expectStored(p, closed);
    p.runUntil(p.rendered + 6 * RATE);
    expectRecordingsOnce(p);
    const { audio } = p.last('past-kept');
    const started = p.all('recording-started').find((report) => report.audio === audio)!;
    const kept = p.stored.get(audio)![0]!;
    expect(kept.findIndex((sample, i) => sample !== played(0, started.at + i - p.roundTrip))).toBe(-1);
  });

  test('is kept once, whole: not again before it has come in, nor after, nor with what was played since', () => {
    const { p, origin } = looping();
    p.runUntil(origin + 9 * BAR);
    p.pressAt(origin + 10 * BAR - 9000);
    p.runUntil(origin + 12 * BAR + p.outputDelay + 200);
    expect(p.all('layer-closed')).toHaveLength(1);
    p.handle({ type: 'keep-that', heard: frames(p.heard), bars: bars(9) });
    expect(p.last('refused').why).toBe('kept-already');
    const layer = closedAt(p, 1);
    p.handle({ type: 'keep-that', heard: frames(p.heard), bars: bars(9) });
    expect(p.all('refused').map(({ why }) => why)).toEqual(['kept-already', 'kept-already']);
    // Its tail is still coming in.
    p.runUntil(origin + 15 * BAR + p.outputDelay + 200);
    p.handle({ type: 'keep-that', heard: frames(p.heard), bars: bars(9) });
    const kept = closedAt(p, 2);
    expect([layer, kept].map(({ startBar, bars: length }) => [startBar, length])).toEqual([
      [10, 2],
      // Of three bars since then, two go round with a loop of two.
      [13, 2],
    ]);
    expectStored(p, layer);
    expectStored(p, kept);
  });

  test('keeps the ring of its last note when the pass after it is taken back', () => {
    const { p, origin } = looping();
    p.pressAt(origin + 4 * BAR - 11_000);
    p.pressAt(origin + 5 * BAR);
    const closed = closedAt(p, 1);
    p.runUntil(closed.at + 8000);
    p.handle({ type: 'take-back', heard: frames(p.heard) });
    const ended = p.runUntilReport('recording-ended', ({ audio }) => audio === closed.audio);
    // Four seconds after the last line that was kept.
    expect(ended.frames).toBeGreaterThanOrEqual(closed.bodyStart + closed.bodyFrames + 4 * RATE);
  });

  test('plays from the top, in its place, when playing stops and starts before the page knows of it', () => {
    const { p, origin, page } = looping();
    p.rules(3);
    p.pressAt(origin + 4 * BAR - 11_000);
    const closed = closedAt(p, 1);
    expect(closed).toMatchObject({ startBar: 4, bars: 3 });
    p.handle({ type: 'stop', heard: frames(p.heard) });
    p.runUntil(p.rendered + 5000);
    p.handle({ type: 'play', heard: frames(p.heard) });
    const again = p.origin;
    // Phase counts from the first bar: what began at bar 4 of three bars is in its third at the top.
    const voices = [heardOf(origin, 0, 2), heardOf(origin, 4, 7)];
    expectOnly(p, again, voices, again + RAMP, 4 * BAR);
    page.take(closed);
    page.send();
    expectOnly(p, again, voices, p.rendered, BAR);
  });

  test('is silent for good when it is taken back after a stop, before it has come in', () => {
    const { p, origin } = looping();
    p.pressAt(origin + 4 * BAR - 11_000);
    p.runUntil(origin + 6 * BAR + p.outputDelay + 100);
    p.handle({ type: 'stop', heard: frames(p.heard) });
    p.handle({ type: 'take-back', heard: frames(p.heard) });
    expect(p.last('pass-dropped').pass).toBe(2);
    p.runUntil(p.rendered + 20_000);
    p.handle({ type: 'play', heard: frames(p.heard) });
    expectOnly(p, p.origin, [heardOf(origin, 0, 2)], p.origin, 3 * BAR);
    expect(p.all('layer-closed')).toHaveLength(1);
  });
});

describe('what is kept though nothing was recorded', () => {
  test('reaches as far back as the ring, and says so beyond it', () => {
    const { p, origin, first } = looping();
    // More than a minute of rounds.
    p.runUntil(origin + 150 * BAR);
    p.handle({ type: 'keep-that', heard: frames(p.heard), bars: bars(149) });
    const closed = closedAt(p, 1);
    // The ring holds a minute at least, and two seconds before the body are kept if they are there.
    expect(closed.bars * BAR).toBeGreaterThanOrEqual(60 * RATE - 2 * BAR);
    expect(closed.startBar + closed.bars).toBe(150);
    // Whole rounds of the loop.
    expect(closed.bars % first.bars).toBe(0);
    p.runUntil(p.rendered + RATE);
    expectStored(p, closed);
    expect(p.all('fault').filter(({ kind }) => kind === 'frames-lost')).toEqual([]);
  });
});
