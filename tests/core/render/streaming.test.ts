/** Songs larger than the pool, from a page that takes its time. */
import { describe, expect, test } from 'vitest';
import { CHUNK_FRAMES, SLAB_BYTES } from '../../../src/core/render/pool.js';
import type { RowVoice } from '../../support/row-programs.js';
import { rowProgram } from '../../support/row-programs.js';
import { StreamingPage, drawing, sourceAt } from '../../support/streaming-page.js';

const RATE = 48_000;
const BAR = 120_000;
const GRID = { rate: RATE, barFrames: BAR, pulses: 4, beats: 0b1111 };

/** The sum of voices without leads, tails and fades, at a song position. */
function sumAt(voices: readonly RowVoice[], source: (audio: number, frame: number) => number, position: number): number {
  let sum = 0;
  for (const { audio, bodyStart, bodyFrames, start = 0, end = Infinity } of voices) {
    const round = Math.floor((position - start) / bodyFrames);
    if (round < 0 || start + round * bodyFrames >= end) continue;
    sum += source(audio, bodyStart + position - start - round * bodyFrames);
  }
  return Math.fround(sum);
}

/** Counts frames that are not what the sum says. */
function listener(voices: readonly RowVoice[], source: (audio: number, frame: number) => number) {
  const heard = { origin: Infinity, compared: 0, wrong: 0 };
  const listen = (left: Float32Array, at: number): void => {
    for (let i = Math.max(0, heard.origin - at); i < left.length; i++) {
      heard.compared++;
      if (left[i] !== sumAt(voices, source, at + i - heard.origin)) heard.wrong++;
    }
  };
  return { heard, listen };
}

describe('a layer of an hour', () => {
  test('plays from the first second, to the bit and without a late frame, from a page that takes up to 0.4 s', () => {
    const rate = 22_050;
    const hour = 3600 * rate;
    const draw = drawing(4);
    const source = sourceAt(0.25);
    const voices = [{ id: 1, audio: 7, bodyStart: 12_345, bodyFrames: hour, end: 1 }];
    const { heard, listen } = listener(voices, source);
    const page = new StreamingPage({
      rate,
      source,
      poolBytes: 16 * 1024 * 1024,
      latency: () => draw(0, 0.4 * rate),
      blockSize: () => draw(64, 512),
      heard: listen,
    });
    page.handle({ type: 'use-program', program: rowProgram({ grid: { ...GRID, rate }, voices }) });
    page.runUntilReady(1);
    expect(page.rendered).toBeLessThan(rate);
    page.play();
    heard.origin = page.origin;
    page.runUntil(page.origin + hour);
    expect(heard.wrong).toBe(0);
    expect(heard.compared).toBeGreaterThan(hour - 1000);
    expect(page.late).toBe(0);
    expect(page.bytes).toBeLessThanOrEqual(16 * 1024 * 1024);
    expect(page.asked.size).toBe(Math.ceil((12_345 + hour) / CHUNK_FRAMES));
  }, 120_000);
});

describe('66 loops and 30 layers of five minutes', () => {
  test('play from a pool of 128 MB, never above it, from a page that answers in 0.3 s', () => {
    const draw = drawing(9);
    const source = sourceAt(0.009);
    const loops = Array.from({ length: 66 }, (_, i): RowVoice => {
      const bodyFrames = [1, 2, 4, 8, 16][i % 5]! * BAR;
      return { id: i + 1, audio: i + 1, bodyStart: 4800 + 777 * i, bodyFrames };
    });
    const through = Array.from(
      { length: 30 },
      (_, i): RowVoice => ({ id: 100 + i, audio: 100 + i, bodyStart: 999 * i, bodyFrames: 300 * RATE, end: 1 }),
    );
    const voices = [...loops, ...through];
    const { heard, listen } = listener(voices, source);
    const page = new StreamingPage({
      source,
      poolBytes: 16 * SLAB_BYTES,
      latency: () => 0.3 * RATE,
      blockSize: () => draw(32, 224),
      heard: listen,
    });
    page.handle({ type: 'use-program', program: rowProgram({ grid: GRID, voices }) });
    page.runUntilReady(1);
    page.play();
    heard.origin = page.origin;
    page.runUntil(page.origin + 90 * RATE);
    expect(page.late).toBe(0);
    expect(heard.wrong).toBe(0);
    expect(page.bytes).toBe(128 * 1024 * 1024);
    expect(page.requests.length).toBeGreaterThan(3 * page.bytes / (4 * CHUNK_FRAMES));
  }, 120_000);
});
