/**
 * Scripted performances: a player counts in, plays a loop, presses early or late, layers over it, goes round again and
 * keeps what they played. What is asserted is the contract: windows to the frame, lines as they were meant, and every
 * attack in the loop where it was played.
 */
import { describe, expect, test } from 'vitest';
import fc from 'fast-check';
import { bars as barCount, frames } from '../../../src/core/units/index.js';
import { Performance } from '../../support/performance.js';
import type { ReferenceVoice } from '../../support/reference-mixer.js';
import { referenceFrame } from '../../support/reference-mixer.js';
import type { RowGrid } from '../../support/row-programs.js';
import { crossfaded, falling, rising, rowProgram } from '../../support/row-programs.js';
import { noiseAt } from '../../support/signals.js';
import { SongPage } from '../../support/song-page.js';

/** Metre, the note that the tempo counts, felt beats in pulses, tempo. Groups are common practice, no source. */
const METRES = {
  '2/4': [2, 4, [1, 4], [1, 1], 150],
  '3/4': [3, 4, [1, 4], [1, 1, 1], 172],
  '4/4': [4, 4, [1, 4], [1, 1, 1, 1], 220],
  '2/2': [2, 2, [1, 2], [1, 1], 97],
  '5/4': [5, 4, [1, 4], [1, 1, 1, 1, 1], 283],
  '6/8': [6, 8, [3, 8], [3, 3], 110],
  '9/8': [9, 8, [3, 8], [3, 3, 3], 163],
  '12/8': [12, 8, [3, 8], [3, 3, 3, 3], 201],
  '5/8': [5, 8, [1, 8], [3, 2], 290],
  '7/8': [7, 8, [1, 8], [2, 2, 3], 355],
  '11/8': [11, 8, [1, 8], [3, 3, 3, 2], 399],
} as const;
type MetreName = keyof typeof METRES;
const METRE_NAMES = Object.keys(METRES) as MetreName[];

interface Script {
  readonly metre: MetreName;
  readonly rate: number;
  /** Bars of the first loop, as the player means it, and how late the press that closes it is, in ms. */
  readonly loop: number;
  readonly closes: number;
  /** Bars of the layer over it, how late the press that begins it is, and whether it goes round once more. */
  readonly layer: number;
  readonly starts: number;
  readonly again: boolean;
  /** Bars that are kept afterwards of what was played on, and how late that is asked for. */
  readonly keeps: number;
  readonly kept: number;
  /** Greatest distance of an attack from its beat, in ms. */
  readonly loose: number;
  readonly roundTrip: number;
  readonly outputDelay: number;
  /** Sizes of blocks, over and over. */
  readonly blocks: readonly number[];
}

/** What the script comes to, worked out from the contract alone. */
function gridOf({
  metre,
  rate,
}: Pick<Script, 'metre' | 'rate'>): RowGrid & { readonly firstBeat: number; readonly feltBeats: number[] } {
  const [num, den, [markNum, markDen], groups, bpm] = METRES[metre];
  const barFrames = Math.round(((num / den / (markNum / markDen)) * 60 * rate) / bpm);
  const opens = groups.map((_, i) => groups.slice(0, i).reduce<number>((sum, pulses) => sum + pulses, 0));
  const feltBeats = opens.map((pulse) => Math.round((pulse * barFrames) / num));
  const beats = opens.reduce((mask, pulse) => mask | (1 << pulse), 0);
  return { rate, barFrames, pulses: num, beats, feltBeats, firstBeat: Math.round((groups[0] * barFrames) / num) };
}

/** Exactly in the middle it is the coming line: up to half a bar early counts. */
const nearestLine = (frame: number, bar: number): number => Math.floor((frame + bar / 2) / bar);
/** Up to one beat after a line that line, later the next. */
function startLine(frame: number, bar: number, firstBeat: number): number {
  const line = Math.floor(frame / bar);
  return frame - line * bar <= firstBeat ? line : line + 1;
}

/**
 * Somebody who plays on every felt beat, up to `loose` ms early or late, for as long as it takes: noise that decays, other
 * noise for every attack. Frames count from line 0; the first attack is that of bar 0.
 */
function playerOf(grid: ReturnType<typeof gridOf>, loose: number) {
  const spread = (loose * grid.rate) / 1000;
  const perBar = grid.feltBeats.length;
  const attackOf = (beat: number): number =>
    Math.floor(beat / perBar) * grid.barFrames +
    grid.feltBeats[beat % perBar]! +
    Math.round(noiseAt(beat, 77) * spread);
  const sampleOf = (position: number): number => {
    // Attacks may lie before their beat: the next one is asked first.
    let beat = Math.floor(position / grid.barFrames) * perBar + perBar;
    while (beat >= 0 && attackOf(beat) > position) beat--;
    if (beat < 0) return 0;
    const into = position - attackOf(beat);
    return into > 6000 ? 0 : Math.fround(0.1 * Math.exp(-into / 1000) * (into === 0 ? 1 : noiseAt(into, beat)));
  };
  // Bar by bar, as they are asked for: both the player and the reference ask again and again.
  const played = new Map<number, Float32Array>();
  return (position: number): number => {
    const bar = Math.floor(position / grid.barFrames);
    let samples = played.get(bar);
    if (samples === undefined) {
      samples = Float32Array.from({ length: grid.barFrames }, (_, i) => sampleOf(bar * grid.barFrames + i));
      played.set(bar, samples);
    }
    return samples[position - bar * grid.barFrames]!;
  };
}

function perform(script: Script): void {
  const grid = gridOf(script);
  const { barFrames: bar, rate } = grid;
  const ms = (value: number): number => Math.round((value * rate) / 1000);
  let block = 0;
  const p = new Performance({
    rate,
    roundTrip: script.roundTrip,
    outputDelay: script.outputDelay,
    blockSize: () => script.blocks[block++ % script.blocks.length]!,
  });
  const page = new SongPage(p, grid);
  page.send();
  p.rules(null, 1);
  p.pressAt(1000);
  const { origin } = p;
  const sampleAt = playerOf(grid, script.loose);
  p.play = (heard) => sampleAt(heard - origin);
  const presses = (position: number): number => {
    p.pressAt(origin + position);
    return p.rendered;
  };

  /** The pass of bars [from, to) is what was played there, to the frame, in its report, in storage and in the loop. */
  const expectPass = (index: number, from: number, to: number): void => {
    const closed = p.runUntilReport('layer-closed', (report) => p.all('layer-closed').indexOf(report) === index);
    const started = p.all('recording-started').find((report) => report.audio === closed.audio)!;
    expect(closed).toMatchObject({
      at: origin + to * bar,
      startBar: from,
      bars: to - from,
      bodyFrames: (to - from) * bar,
    });
    expect(started.at + closed.bodyStart).toBe(origin + from * bar + script.roundTrip);
    page.take(closed);
  };

  // The first loop, closed by a press.
  const meant = script.loop * bar + ms(script.closes);
  const end = Math.max(1, nearestLine(meant, bar));
  const joinsAt = Math.max(presses(meant) + ms(10), origin + end * bar);
  expectPass(0, 0, end);
  // What is heard of it before the page has said anything.
  const first = voice(sampleAt, 0, end, end);
  const early = Math.max(p.rendered, joinsAt + 3000);
  p.runUntil(early);
  if (end * bar > script.roundTrip) expectSound(p, [first], origin, joinsAt, early - rate / 100);
  page.send();

  // A layer over it, perhaps two.
  // Whatever goes round with it: any number of bars is to lie where it was played.
  p.rules(script.layer, 1, { loopBars: null });
  const from = Math.max(p.heard - origin + ms(1000), (end + 1) * bar);
  const begins = Math.ceil(from / bar) * bar + ms(script.starts);
  const start = startLine(begins, bar, grid.firstBeat);
  presses(begins);
  if (script.again) presses(Math.max(begins + ms(310), start * bar + Math.round(bar / 3)));
  expectPass(1, start, start + script.layer);
  if (script.again) expectPass(2, start + script.layer, start + 2 * script.layer);
  page.send();
  const passes = script.again ? 3 : 2;

  const lateSoFar = p.all('fault').length;
  if (end * bar > script.roundTrip + bar) expect(p.all('fault')).toEqual([]);

  // Nothing was recorded since: it is kept all the same.
  const asked = (start + 2 * script.layer + script.keeps + 1) * bar + ms(script.kept);
  p.runUntil(origin + asked + script.outputDelay);
  p.handle({ type: 'keep-that', heard: frames(origin + asked), bars: barCount(script.keeps) });
  const keptTo = nearestLine(asked, bar);
  expectPass(passes, keptTo - script.keeps, keptTo);
  expect(p.all('layer-closed')).toHaveLength(passes + 1);
  page.send();

  // Everything comes round where it was played: two rounds of the longest, in whatever phase.
  const voices = p.all('layer-closed').map((closed) => {
    const length = closed.bars;
    return voice(sampleAt, closed.startBar, closed.startBar + length, closed.startBar);
  });
  // What is kept is fetched from the ring, 64 kB a block, from two seconds before it on; then it joins.
  const fetched = Math.ceil((2 * rate + script.keeps * bar) / 16_384) * Math.max(...script.blocks);
  const steady = p.rendered + fetched + 2 * Math.round(rate / 100);
  const watched = Math.min(8, Math.max(...p.all('layer-closed').map((closed) => closed.bars)) + 1) * bar;
  p.runUntil(steady + watched + rate / 100);
  expectSound(p, voices, origin, steady, steady + watched, 3);
  expectStored(p, origin, sampleAt);
  const late = p.all('fault').slice(lateSoFar);
  expect(late.filter((fault) => fault.kind !== 'late-chunk' || fault.at > steady + rate)).toEqual([]);

  /** What was played in bars [a, b), coming round from the line of `opens` on. */
  function voice(sampleAt: (position: number) => number, a: number, b: number, opens: number): ReferenceVoice {
    return {
      audio: (frame) => sampleAt(a * bar + frame),
      bodyStart: 0,
      bodyFrames: (b - a) * bar,
      start: (opens % (b - a)) * bar - (opens % (b - a) === 0 ? 0 : (b - a) * bar),
      end: Infinity,
      left: 1,
      right: 1,
      ...crossfaded(rate / 100, 0),
    };
  }
}

/** The engine's sum over engine frames [from, to), every so many, is what the voices give, to 1e-7 of gains and peaks. */
function expectSound(
  p: Performance,
  voices: readonly ReferenceVoice[],
  origin: number,
  from: number,
  to: number,
  every = 1,
): void {
  const { left } = p;
  const wrong: unknown[] = [];
  for (let frame = from; frame < to && wrong.length < 3; frame += every) {
    const expected = referenceFrame([{ origin, voices }], frame, 0.1);
    const got = left[frame]!;
    if (!(Math.abs(got - expected.left) <= 1e-7 * expected.scale))
      wrong.push({ frame: frame - origin, got, expected: expected.left });
  }
  expect(wrong).toEqual([]);
}

/** Every recording is what was played, frame for frame. */
function expectStored(p: Performance, origin: number, sampleAt: (position: number) => number): void {
  for (const closed of p.all('layer-closed')) {
    const samples = p.stored.get(closed.audio)?.[0] ?? [];
    const line = closed.at - closed.bodyFrames - origin;
    let different = 0;
    for (let i = 0; i < closed.bodyFrames; i += 7)
      if (samples[closed.bodyStart + i] !== sampleAt(line + i)) different++;
    expect(different).toBe(0);
  }
}

const PRESSES = [-300, -150, -40, -3, 0, 2, 40, 149, 300, 450, 600];
const TRIPS = [0, 1, 480, 4928, 12_000, 30_000];
const DELAYS = [0, 128, 2000, 9000, 20_000];
const LOOPS = [4, 1, 2, 8, 5, 3, 4, 7];
const LAYERS = [3, 5, 4, 1, 2];
const BLOCKS = [[128], [1, 700, 33], [441], [128, 96, 160], [512], [2048]];

/**
 * Every metre at two rates, one in three of them at the highest; the rest runs through its values, at different paces, so
 * that they meet in many ways.
 */
const SCRIPTS: readonly Script[] = METRE_NAMES.flatMap((metre, m) =>
  [m % 3 === 0 ? 96_000 : 44_100, 48_000].map((rate, r) => {
    const n = 3 * m + r;
    const pick = <T>(list: readonly T[], step = 1): T => list[(n * step) % list.length]!;
    return {
      metre,
      rate,
      loop: pick(LOOPS),
      closes: pick(PRESSES),
      layer: pick(LAYERS),
      starts: pick(PRESSES, 3),
      again: n % 2 === 1,
      keeps: 1 + (n % 3),
      kept: pick(PRESSES, 7),
      loose: 40,
      roundTrip: pick(TRIPS),
      outputDelay: pick(DELAYS),
      blocks: pick(BLOCKS),
    };
  }),
);

describe('a scripted performance', () => {
  test.each(SCRIPTS.map((script) => [script.metre, script.rate, script.loop, script.layer, script] as const))(
    'in %s at %i: a loop of %i bars, a layer of %i over it, and what is kept, lie where they were played',
    (_metre, _rate, _loop, _layer, script) => {
      perform(script);
      expect.hasAssertions();
    },
  );

  test('lies where it was played, whatever its metre, lengths, presses, delays and blocks', () => {
    const script: fc.Arbitrary<Script> = fc.record({
      metre: fc.constantFrom(...METRE_NAMES),
      rate: fc.constantFrom(44_100, 48_000),
      loop: fc.integer({ min: 1, max: 6 }),
      closes: fc.integer({ min: -300, max: 600 }),
      layer: fc.integer({ min: 1, max: 5 }),
      starts: fc.integer({ min: -300, max: 600 }),
      again: fc.boolean(),
      keeps: fc.integer({ min: 1, max: 4 }),
      kept: fc.integer({ min: -300, max: 600 }),
      loose: fc.integer({ min: 0, max: 40 }),
      roundTrip: fc.integer({ min: 0, max: 30_000 }),
      outputDelay: fc.integer({ min: 0, max: 20_000 }),
      blocks: fc.array(fc.integer({ min: 1, max: 1500 }), { minLength: 1, maxLength: 6 }),
    });
    fc.assert(fc.property(script, perform), { numRuns: 6 });
    expect.hasAssertions();
  }, 60_000);
});

/** A player in 4/4 (or whatever it is) over a silent layer of one bar, with a click that nobody hears. */
function overOneBar(metre: MetreName, outputDelay = 3000) {
  const grid = gridOf({ metre, rate: 48_000 });
  const p = new Performance({ outputDelay });
  p.stored.set(STORED, [Array.from({ length: grid.barFrames }, () => 0)]);
  const layer = { id: STORED, audio: STORED, bodyStart: 0, bodyFrames: grid.barFrames };
  p.useProgram(rowProgram({ grid, voices: [layer] }));
  p.rules(1);
  p.runUntil(1000);
  p.handle({ type: 'play', heard: frames(0) });
  return { p, grid, origin: p.origin };
}

describe('the line that a press means', () => {
  test.each(METRE_NAMES.flatMap((metre) => [-1, 0, 1].map((late) => [metre, late] as const)))(
    'starting in %s, %i frames after the first beat of a bar is over: up to one beat late counts as that line',
    (metre, late) => {
      const { p, grid, origin } = overOneBar(metre);
      p.pressAt(origin + 3 * grid.barFrames + grid.firstBeat + late);
      const closed = p.runUntilReport('layer-closed');
      expect(closed.startBar).toBe(late <= 0 ? 3 : 4);
      const { at } = p.last('recording-started');
      expect(at + closed.bodyStart).toBe(origin + closed.startBar * grid.barFrames + p.roundTrip);
    },
  );

  test.each([
    ['half a bar before it', 6.5, 7],
    ['a frame earlier', 6.5 - 1e-5, 6],
    ['on it', 6, 6],
    ['less than half a bar after it', 6.49, 6],
    ['in the first bar', 4.1, 5],
  ])('finishing, %s, at bar %f, is the nearest, at least a bar on: %i', (_where, bar, line) => {
    const { p, grid, origin } = overOneBar('4/4');
    p.rules(null);
    p.pressAt(origin + 4 * grid.barFrames - 15_000);
    p.pressAt(origin + Math.floor(bar * grid.barFrames));
    expect(p.runUntilReport('layer-closed')).toMatchObject({
      startBar: 4,
      bars: line - 4,
      at: origin + line * grid.barFrames,
    });
  });
});

describe('attacks', () => {
  test.each([
    [64, 48_000, 5000, 2000],
    [64, 44_100, 30_000, 20_000],
    [12, 96_000, 0, 0],
  ])(
    'of a loop of %i bars at %i, with a round trip of %i and %i to the ears, come where they were played',
    (bars, rate, roundTrip, outputDelay) => {
      const grid = gridOf({ metre: '4/4', rate });
      const { barFrames: bar } = grid;
      const p = new Performance({ rate, roundTrip, outputDelay, blockSize: () => 512 });
      p.useProgram(rowProgram({ grid, voices: [] }));
      p.rules(null);
      p.pressAt(1000);
      const { origin } = p;
      // One attack a beat, 40 ms early to 40 ms late, and silence between them.
      const spread = (40 * rate) / 1000;
      const attackOf = (beat: number): number => Math.round((beat * bar) / 4) + Math.round(noiseAt(beat, 5) * spread);
      const attacks = new Set(Array.from({ length: 4 * bars }, (_, beat) => Math.max(0, attackOf(beat))));
      const track = new Float32Array(bars * bar + rate);
      for (const attack of attacks) for (let into = 0; into < 40; into++) track[attack + into] = 0.3 - into / 200;
      p.play = (heard) => track[heard - origin] ?? 0;
      // Early enough to be in time, and nearer to this line than to any other.
      p.pressAt(origin + bars * bar - outputDelay - 2000);
      p.runUntil(origin + (2 * bars + 2) * bar);
      const out = p.left;
      const found: number[] = [];
      for (let i = origin + bars * bar; i < origin + 2 * bars * bar - rate / 100; i++) {
        if (out[i] !== 0 && out[i - 1] === 0) found.push(i - origin - bars * bar);
      }
      // All but what lies in the last 10 ms, where the seam is.
      const expected = [...attacks].filter((attack) => attack < bars * bar - rate / 100).sort((a, b) => a - b);
      expect(found).toEqual(expected);
      for (const attack of expected) expect(out[origin + bars * bar + attack]).toBe(Math.fround(0.3));
    },
  );

  // An attack before line 0 belongs to beat one of every round (engine contract 4, early attack): its seam is a lead in
  // full, from just before the attack on, which replaces the end of the round before it.
  test.each([1, 5, 17, 40])('%i ms before beat one come so early in every round, whole', (early) => {
    const grid = gridOf({ metre: '4/4', rate: 48_000 });
    const { barFrames: bar } = grid;
    const p = new Performance({ outputDelay: 1000 });
    const page = new SongPage(p, grid);
    page.send();
    p.rules(2);
    p.pressAt(1000);
    const { origin } = p;
    const ahead = early * 48;
    const sampleAt = (into: number): number =>
      into < 0 || into > 9000 ? 0 : 0.2 * Math.exp(-into / 900) * noiseAt(into, 3);
    p.play = (heard) => Math.fround(sampleAt(heard - origin + ahead));
    page.take(p.runUntilReport('layer-closed'));
    const [layer] = page.layers;
    const lead = ahead + 96;
    const { voice: id, audio, bodyStart, bodyFrames } = layer!;
    const fades = { fadeIn: rising(96, 1), fadeOut: falling(96, 1) };
    const voice = { id, audio, bodyStart, bodyFrames, lead, tail: 96 - lead, ...fades };
    p.useProgram(rowProgram({ grid, voices: [voice], revision: 2, passesKnown: 1 }));
    p.runUntil(origin + 8 * bar);
    for (const round of [4, 6]) {
      const attack = origin + round * bar - ahead;
      expect(p.left.slice(attack - 90, attack).every((sample) => sample === 0)).toBe(true);
      let different = 0;
      for (let i = 0; i < 9000; i++) if (p.left[attack + i] !== p.play(origin - ahead + i)) different++;
      expect(different).toBe(0);
    }
  });
});

const STORED = 1000;
