/** Songs larger than the pool, from a page that takes its time. */
import { describe, expect, test } from 'vitest';
import { CHUNK_FRAMES, SLAB_BYTES } from '../../../src/core/render/pool.js';
import { ProgramGrid } from '../../../src/core/program/program-grid.js';
import { frames } from '../../../src/core/units/index.js';
import { barProgram } from '../../support/bar-programs.js';
import { metre, steady, tempo, untilPressed } from '../meter/given.js';
import type { RowVoice } from '../../support/row-programs.js';
import { rowProgram } from '../../support/row-programs.js';
import { StreamingPage, drawing, keyOf, plainSum, sourceAt } from '../../support/streaming-page.js';

const RATE = 48_000;
const BAR = 120_000;
const GRID = { rate: RATE, barFrames: BAR, pulses: 4, beats: 0b1111 };

/** Counts frames, from position `from` after engine frame `origin` on, that are not what the voices sum up to. */
function listener(voices: readonly RowVoice[], source: (audio: number, frame: number) => number) {
  const heard = { origin: Infinity, from: 0, compared: 0, wrong: 0 };
  const listen = (left: Float32Array, at: number): void => {
    for (let i = Math.max(0, heard.origin + heard.from - at); i < left.length; i++) {
      heard.compared++;
      if (left[i] !== plainSum(voices, source, at + i - heard.origin)) heard.wrong++;
    }
  };
  return { heard, listen };
}

const loop = (id: number, bars: number, more: Partial<RowVoice> = {}): RowVoice => ({
  id,
  audio: id,
  bodyStart: 4800 + 777 * id,
  bodyFrames: bars * BAR,
  ...more,
});
const through = (id: number, seconds: number): RowVoice => ({
  id,
  audio: id,
  bodyStart: 999 * id,
  bodyFrames: seconds * RATE,
  end: 1,
});
const many = <T>(count: number, make: (i: number) => T): T[] => Array.from({ length: count }, (_, i) => make(i));

describe('a layer of an hour', { timeout: 180_000 }, () => {
  test('plays from the first second, to the bit and without a late frame, from a page that takes up to 0.4 s', () => {
    const rate = 22_050;
    const hour = 3600 * rate;
    const draw = drawing(4);
    const source = sourceAt(0.1);
    const bodyStart = 12_345;
    const voices = [{ id: 1, audio: 7, bodyStart, bodyFrames: hour, end: 1 }];
    const { heard, listen } = listener(voices, source);
    const page = new StreamingPage({
      rate,
      source,
      poolBytes: 2 * SLAB_BYTES,
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
    expect(page.bytes).toBeLessThanOrEqual(2 * SLAB_BYTES);
    expect(page.asked.size).toBe(Math.ceil((bodyStart + hour) / CHUNK_FRAMES));
    const ahead = page.requests.map(({ at, chunk }) => page.origin + chunk * CHUNK_FRAMES - bodyStart - at);
    expect(Math.min(...ahead.slice(10))).toBeGreaterThanOrEqual(5 * rate);
  });
});

describe('66 loops and 30 layers of five minutes', { timeout: 180_000 }, () => {
  const voices = [...many(66, (i) => loop(i + 1, [1, 2, 4, 8, 16][i % 5]!)), ...many(30, (i) => through(100 + i, 300))];

  test('play from a pool of 128 MB, never above it, from a page that answers in 0.3 s', () => {
    const draw = drawing(9);
    const source = sourceAt(0.009);
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
    page.runUntil(page.origin + 60 * RATE);
    expect(page.late).toBe(0);
    expect(heard.wrong).toBe(0);
    expect(page.bytes).toBe(128 * 1024 * 1024);
    expect(page.requests.length * 4 * CHUNK_FRAMES).toBeGreaterThan(3 * page.bytes);
    expect(page.mostInFlight).toBeLessThanOrEqual(128);
  });

  test('are ready when the first seconds are there, not the song', () => {
    const page = new StreamingPage({ latency: () => 4000 });
    page.handle({ type: 'use-program', program: rowProgram({ grid: GRID, voices }) });
    page.runUntilReady(1);
    const { size } = page.present;
    expect(size).toBeLessThanOrEqual(96 * Math.ceil((5.5 * RATE) / CHUNK_FRAMES + 1));
    for (const voice of voices) {
      const end = voice.bodyStart + Math.min(voice.bodyFrames, 5 * RATE);
      for (let frame = voice.bodyStart; frame < end; frame += CHUNK_FRAMES / 2) {
        const chunk = Math.floor(frame / CHUNK_FRAMES);
        expect(page.present.has(keyOf({ audio: voice.audio, channel: 0, chunk }))).toBe(true);
      }
    }
  });
});

describe('the pool', { timeout: 60_000 }, () => {
  test('asks for no more memory than a song needs', () => {
    const page = new StreamingPage({});
    page.handle({ type: 'use-program', program: rowProgram({ grid: GRID, voices: [loop(1, 4), loop(2, 4)] }) });
    page.runUntilReady(1);
    page.play();
    page.runUntil(page.origin + 30 * RATE);
    expect(page.slabs).toBe(1);
  });

  test('keeps the loops that fit, and lets go what long layers have played', () => {
    const voices = [...many(8, (i) => loop(i + 1, 8)), ...many(4, (i) => through(20 + i, 120))];
    // Eight loops of 59 chunks, four times the 18 chunks ahead and as much again under way.
    const page = new StreamingPage({ poolBytes: 5 * SLAB_BYTES, latency: () => 9600 });
    page.handle({ type: 'use-program', program: rowProgram({ grid: GRID, voices }) });
    page.runUntilReady(1);
    page.play();
    page.runUntil(page.origin + 100 * RATE);
    expect(page.late).toBe(0);
    expect(page.asked.size * 4 * CHUNK_FRAMES).toBeGreaterThan(page.bytes);
    expect([...page.asked].filter(([, times]) => times > 1)).toEqual([]);
  });

  test('a chunk that was taken away is asked for again, five seconds before it sounds', () => {
    const bodyFrames = 64 * BAR;
    const voices = [{ id: 1, audio: 1, bodyStart: 0, bodyFrames }];
    const source = sourceAt(0.1);
    const { heard, listen } = listener(voices, source);
    const page = new StreamingPage({ source, poolBytes: SLAB_BYTES, latency: () => 9600, heard: listen });
    page.handle({ type: 'use-program', program: rowProgram({ grid: GRID, voices }) });
    page.runUntilReady(1);
    page.play();
    heard.origin = page.origin;
    page.runUntil(page.origin + 2.2 * bodyFrames);
    expect(heard.wrong).toBe(0);
    const asked = page.requests.filter(({ chunk }) => chunk === 20);
    const ahead = asked.map(({ at }, round) => page.origin + round * bodyFrames + 20 * CHUNK_FRAMES - at);
    expect(ahead.map((frames) => frames >= 5 * RATE && frames < 6 * RATE)).toEqual([true, true, true]);
  });

  test('that is too small for five seconds of every voice holds as much of each, and nothing is late', () => {
    const voices = many(20, (i) => through(1 + i, 200));
    const source = sourceAt(0.01);
    const { heard, listen } = listener(voices, source);
    const page = new StreamingPage({ source, poolBytes: SLAB_BYTES, latency: () => 14_400, heard: listen });
    page.handle({ type: 'use-program', program: rowProgram({ grid: GRID, voices }) });
    page.runUntilReady(1);
    page.play();
    heard.origin = page.origin;
    page.runUntil(page.origin + 40 * RATE);
    expect(page.late).toBe(0);
    expect(heard.wrong).toBe(0);
    // Nothing was taken away before it sounded.
    expect([...page.asked.values()].every((times) => times === 1)).toBe(true);
  });

  test('a program that stands by is there when it is gone to', () => {
    const playing = many(6, (i) => through(1 + i, 200));
    const next = many(6, (i) => through(50 + i, 200));
    const source = sourceAt(0.01);
    const { heard, listen } = listener(next, source);
    const page = new StreamingPage({ source, poolBytes: 2 * SLAB_BYTES, latency: () => 14_400, heard: listen });
    page.handle({ type: 'use-program', program: rowProgram({ grid: GRID, voices: playing }) });
    page.runUntilReady(1);
    page.play();
    page.handle({ type: 'stand-by', slot: 0, program: rowProgram({ grid: GRID, voices: next, revision: 2 }) });
    // So near to the line that there is no time to load anything.
    page.runUntil(page.origin + 16 * BAR - 600);
    expect(page.all('program-ready').map(({ revision }) => revision)).toEqual([1, 2]);
    page.handle({ type: 'go', slot: 0, heard: frames(page.rendered) });
    heard.origin = page.origin;
    // The old program's voices end under a fade of 10 ms.
    heard.from = 480;
    page.runUntil(page.origin + 40 * RATE);
    expect(page.late).toBe(0);
    expect(heard.wrong).toBe(0);
  });

  test('another start from the top finds the first seconds there', () => {
    const voices = many(8, (i) => through(1 + i, 200));
    const source = sourceAt(0.01);
    const { heard, listen } = listener(voices, source);
    const page = new StreamingPage({ source, poolBytes: 2 * SLAB_BYTES, latency: () => 14_400, heard: listen });
    page.handle({ type: 'use-program', program: rowProgram({ grid: GRID, voices }) });
    page.runUntilReady(1);
    page.play();
    page.runUntil(page.origin + 60 * RATE);
    page.stop();
    page.runUntil(page.rendered + RATE);
    page.play();
    heard.origin = page.origin;
    page.runUntil(page.origin + 20 * RATE);
    expect(page.late).toBe(0);
    expect(heard.wrong).toBe(0);
  });

  test('what comes after a standstill is there when the player goes on', () => {
    const held = barProgram([steady(4, metre(4, 4), tempo(120), untilPressed(1, 3))]);
    const start = new ProgramGrid(held.stretches).lineAt(2);
    const after = many(6, (i) => ({ ...through(1 + i, 60), start, end: start + 1 }));
    const source = sourceAt(0.01);
    const { heard, listen } = listener(
      after.map((voice) => ({ ...voice, start: 0, end: 1 })),
      source,
    );
    const page = new StreamingPage({ source, poolBytes: SLAB_BYTES, latency: () => 14_400, heard: listen });
    const { stretches } = held;
    page.handle({ type: 'use-program', program: { ...rowProgram({ grid: GRID, voices: after }), stretches } });
    page.runUntilReady(1);
    page.play();
    page.runUntil(page.origin + 12 * RATE);
    page.handle({ type: 'end-standstill', heard: frames(page.rendered) });
    heard.origin = page.all('standstill-ended')[0]!.at;
    page.runUntil(heard.origin + 20 * RATE);
    expect(page.late).toBe(0);
    expect(heard.wrong).toBe(0);
    expect(heard.compared).toBeGreaterThan(19 * RATE);
  });

  test('what nobody asked for, or what comes twice, changes nothing', () => {
    const voices = [loop(1, 4)];
    const source = sourceAt(0.1);
    const { heard, listen } = listener(voices, source);
    const page = new StreamingPage({ source, heard: listen });
    const intrude = (chunk: number): void => {
      const samples = new Float32Array(CHUNK_FRAMES).fill(0.05);
      page.handle({ type: 'supply', audio: 1, channel: 0, chunk, samples });
      page.handle({ type: 'supply', audio: 99, channel: 0, chunk, samples });
    };
    intrude(0);
    page.handle({ type: 'use-program', program: rowProgram({ grid: GRID, voices }) });
    page.runUntilReady(1);
    intrude(1);
    page.play();
    heard.origin = page.origin;
    page.runUntil(page.origin + 10 * BAR);
    expect(heard.wrong).toBe(0);
  });

  test('the end of the audio is silence', () => {
    const voices = [{ id: 1, audio: 1, bodyStart: 0, bodyFrames: 2 * CHUNK_FRAMES }];
    const out: number[] = [];
    const page = new StreamingPage({ latency: () => Infinity, heard: (left) => out.push(...left) });
    page.handle({ type: 'use-program', program: rowProgram({ grid: GRID, voices }) });
    for (const chunk of [0, 1]) {
      const samples = new Float32Array(chunk === 0 ? CHUNK_FRAMES : 100).fill(0.05);
      page.handle({ type: 'supply', audio: 1, channel: 0, chunk, samples });
    }
    page.runUntilReady(1);
    page.play();
    const from = page.origin + page.engine.lookAhead;
    page.runUntil(page.origin + 3 * CHUNK_FRAMES);
    const sounding = out.slice(from, from + 2 * CHUNK_FRAMES);
    expect(sounding.lastIndexOf(Math.fround(0.05))).toBe(CHUNK_FRAMES + 99);
    expect(sounding.slice(CHUNK_FRAMES + 100).every((sample) => sample === 0)).toBe(true);
    page.hearOut();
    expect(page.late).toBe(0);
  });
});
