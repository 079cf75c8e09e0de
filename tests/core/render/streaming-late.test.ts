/** Audio that comes too late: silence between two fades, counted to the frame, and playing goes on in its place. */
import { describe, expect, test } from 'vitest';
import fc from 'fast-check';
import { LATE_FADE_FRAMES } from '../../../src/core/render/late-gate.js';
import { CHUNK_FRAMES } from '../../../src/core/render/pool.js';
import type { RowVoice } from '../../support/row-programs.js';
import { rowProgram } from '../../support/row-programs.js';
import { largestStep } from '../../support/signals.js';
import { StreamingPage, drawing, keyOf, plainSum } from '../../support/streaming-page.js';

const RATE = 48_000;
const BAR = 120_000;
const GRID = { rate: RATE, barFrames: BAR, pulses: 4, beats: 0b1111 };
const LEVEL = 0.03;

/** A tone for each handle: what is smooth shows every step that does not belong to it. */
const tone = (audio: number, frame: number): number =>
  Math.fround(LEVEL * Math.sin((2 * Math.PI * (110 + 50 * audio) * frame) / RATE));

/** The greatest step of a tone, and what a fade of LATE_FADE_FRAMES may add to it. */
const stepOf = ({ audio }: RowVoice): number =>
  2 * LEVEL * Math.sin((Math.PI * (110 + 50 * audio)) / RATE) + LEVEL / LATE_FADE_FRAMES;

/** Frames of plain voices in [at, at + count) whose chunk is not in the pool, looked up one by one. */
function missing(page: StreamingPage, voices: readonly RowVoice[], at: number, count: number): number {
  let late = 0;
  for (const { audio, bodyStart, bodyFrames, end = Infinity } of voices) {
    for (let position = at; position < at + count; position++) {
      const round = Math.floor(position / bodyFrames);
      if (position < 0 || round * bodyFrames >= end) continue;
      const chunk = Math.floor((bodyStart + position - round * bodyFrames) / CHUNK_FRAMES);
      if (!page.present.has(keyOf({ audio, channel: 0, chunk }))) late++;
    }
  }
  return late;
}

describe('a page that stalls for eight seconds', () => {
  const voices: readonly RowVoice[] = [
    { id: 1, audio: 1, bodyStart: 5000, bodyFrames: 100 * RATE, end: 1 },
    { id: 2, audio: 2, bodyStart: 0, bodyFrames: 60 * RATE },
    { id: 3, audio: 3, bodyStart: 15_000, bodyFrames: 2 * BAR },
    { id: 4, audio: 4, bodyStart: 700, bodyFrames: 13 * BAR },
  ];
  const out: number[] = [];
  const draw = drawing(3);
  let expectedLate = 0;
  const page = new StreamingPage({
    source: tone,
    latency: () => draw(0, 14_400),
    blockSize: () => draw(1, 256),
    heard: (left) => out.push(...left),
    before: (page, at, count) => {
      if (page.engine.plan.type === 'running') expectedLate += missing(page, voices, at - page.origin, count);
    },
  });
  page.handle({ type: 'use-program', program: rowProgram({ grid: GRID, voices }) });
  page.runUntilReady(1);
  page.play();
  const { origin } = page;
  page.runUntil(origin + 10 * RATE);
  page.stalledUntil = page.rendered + 8 * RATE;
  page.runUntil(page.rendered + 12 * RATE);
  page.hearOut();
  const played = Float32Array.from(out.slice(origin + page.engine.lookAhead));

  test('is counted to the frame', () => {
    expect(expectedLate).toBeGreaterThan(3 * 2 * RATE);
    expect(page.late).toBe(expectedLate);
  });

  test('is told of at most once a second', () => {
    const at = page.all('fault').map((fault) => fault.at);
    const pauses = at.slice(1).map((frame, i) => frame - at[i]!);
    expect(Math.min(...pauses)).toBeGreaterThanOrEqual(RATE);
    expect(at.length).toBeGreaterThanOrEqual(2);
  });

  test('makes no step that is not the material’s own', () => {
    const bound = voices.reduce((sum, voice) => sum + stepOf(voice), 0);
    expect(largestStep(played, 0, played.length)).toBeLessThanOrEqual(bound);
    // An edge without a fade would be as large as the material itself.
    expect(bound).toBeLessThan(LEVEL);
  });

  test('goes on in its place, to the bit', () => {
    const different = Array.from(played, (sample, position) => sample !== plainSum(voices, tone, position));
    const from = different.indexOf(true);
    const to = different.lastIndexOf(true);
    // What had been asked for before lasted five seconds; afterwards all of it is back within one.
    expect(from).toBeGreaterThan(15 * RATE - LATE_FADE_FRAMES);
    expect(to).toBeLessThan(19 * RATE);
    expect(played.length).toBeGreaterThan(22 * RATE);
  });

  test('leaves a loop that is in the pool alone', () => {
    expect([...page.asked].filter(([key]) => key.startsWith('3/')).every(([, times]) => times === 1)).toBe(true);
  });
});

/** A voice whose chunks `gone` never come. */
function withHoles(gone: readonly number[], sizes: readonly number[]): Float32Array {
  const voice = { id: 1, audio: 1, bodyStart: 0, bodyFrames: 100 * CHUNK_FRAMES, end: 1 };
  const out: number[] = [];
  let next = 0;
  const page = new StreamingPage({
    source: () => 0.1,
    latency: () => Infinity,
    blockSize: () => sizes[next++ % sizes.length]!,
    heard: (left) => out.push(...left),
  });
  page.handle({ type: 'use-program', program: rowProgram({ grid: GRID, voices: [voice] }) });
  for (let chunk = 0; chunk < 10; chunk++) {
    if (gone.includes(chunk)) continue;
    const samples = new Float32Array(CHUNK_FRAMES).fill(0.1);
    page.handle({ type: 'supply', audio: 1, channel: 0, chunk, samples });
  }
  page.play();
  const from = page.origin + page.engine.lookAhead;
  page.runUntil(page.origin + 6 * CHUNK_FRAMES);
  return Float32Array.from(out.slice(from, from + 5 * CHUNK_FRAMES));
}

describe('a chunk that is missing', { timeout: 60_000 }, () => {
  test('is silence between a fade that ends at it and one that begins after it', () => {
    const out = withHoles([2], [128]);
    const hole = 2 * CHUNK_FRAMES;
    const after = 3 * CHUNK_FRAMES;
    expect(out[hole - LATE_FADE_FRAMES]).toBe(Math.fround(0.1));
    expect(out[hole - LATE_FADE_FRAMES / 2]).toBeCloseTo(0.05, 7);
    expect(out.slice(hole, after + 1).every((sample) => sample === 0)).toBe(true);
    expect(out[after + LATE_FADE_FRAMES / 2]).toBeCloseTo(0.05, 7);
    expect(out[after + LATE_FADE_FRAMES]).toBe(Math.fround(0.1));
    expect(largestStep(out, 0, out.length)).toBeLessThan(0.1 / LATE_FADE_FRAMES + 1e-7);
    // 2 to 5 ms.
    expect(LATE_FADE_FRAMES / RATE).toBeGreaterThanOrEqual(0.002);
    expect(LATE_FADE_FRAMES / RATE).toBeLessThanOrEqual(0.005);
  });

  test('sounds the same for any split into blocks', () => {
    const expected = withHoles([1, 3], [128]);
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 40, max: 900 }), { minLength: 1, maxLength: 6 }), (sizes) => {
        expect(withHoles([1, 3], sizes)).toEqual(expected);
      }),
      { numRuns: 12 },
    );
  });
});
