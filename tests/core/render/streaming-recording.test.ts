/** Recording while everything else streams: it always finds memory, and what only the pool has is never let go. */
import { describe, expect, test } from 'vitest';
import { CHUNK_FRAMES, SLAB_BYTES } from '../../../src/core/render/pool.js';
import type { RowVoice } from '../../support/row-programs.js';
import { rowProgram } from '../../support/row-programs.js';
import type { StreamingOptions } from '../../support/streaming-page.js';
import { StreamingPage, drawing, plainSum, sourceAt } from '../../support/streaming-page.js';
import { frames } from '../../../src/core/units/index.js';

const RATE = 48_000;
const BAR = 120_000;
const GRID = { rate: RATE, barFrames: BAR, pulses: 4, beats: 0b1111 };
/** The seam of a loop that has just closed. */
const SEAM = 480;
const source = sourceAt(0.01);
const INPUT = 777;
const voices = Array.from({ length: 10 }, (_, i): RowVoice => ({
  id: 100 + i,
  audio: 100 + i,
  bodyStart: 999 * i,
  bodyFrames: 600 * RATE,
  end: 1,
}));

/** The same as loops: nothing of them is played for the last time, so what was needed longest ago goes first. */
const loops = voices.map((voice) => ({ ...voice, end: Infinity }));

/** Ten layers stream from a pool of 16 MB; what comes in is noise of its own. Nothing is heard of it on the way in. */
function streaming(options: StreamingOptions = {}, layers = voices) {
  const draw = drawing(8);
  const heard = { origin: Infinity, from: Infinity, wrong: 0, compared: 0, own: [] as RowVoice[] };
  const page = new StreamingPage({
    source,
    poolBytes: 2 * SLAB_BYTES,
    latency: () => draw(0, 14_400),
    blockSize: () => draw(64, 256),
    input: (frame) => source(INPUT, frame),
    heard: (left, at) => {
      for (let i = Math.max(0, heard.origin + heard.from - at); i < left.length; i++) {
        const position = at + i - heard.origin;
        const isSeam = heard.own.some(({ start = 0, bodyFrames }) => {
          const into = (((position - start) % bodyFrames) + bodyFrames) % bodyFrames;
          return into >= bodyFrames - SEAM - 1;
        });
        if (isSeam) continue;
        heard.compared++;
        if (left[i] !== plainSum([...voices, ...heard.own], source, position)) heard.wrong++;
      }
    },
    ...options,
  });
  page.handle({ type: 'use-program', program: rowProgram({ grid: GRID, voices: layers }) });
  page.runUntilReady(1);
  page.play();
  heard.origin = page.origin;
  return { page, heard };
}

/** Every frame of a recording is what came in there. */
function isWhole(page: StreamingPage, audio: number): boolean {
  const begun = page.all('recording-started').find((report) => report.audio === audio);
  const recorded = page.captured.get(audio) ?? [];
  return recorded.length > 0 && recorded.every((sample, i) => sample === source(INPUT, (begun?.at ?? NaN) + i));
}

/** Records 16 bars, then plays on. @returns what was heard. */
function recordSixteenBars(options: StreamingOptions = {}) {
  const { page, heard } = streaming(options);
  page.rules(16);
  page.runUntil(page.origin + 4 * BAR);
  page.handle({ type: 'press', heard: frames(page.rendered) });
  const start = 20 * BAR;
  heard.own = [{ id: 1, audio: INPUT, bodyStart: heard.origin + 4 * BAR, bodyFrames: 16 * BAR, start }];
  heard.from = 0;
  page.runUntil(page.origin + 45 * BAR);
  page.hearOut();
  return { page, heard };
}

describe('recording forty seconds while ten layers stream through 16 MB', { timeout: 60_000 }, () => {
  test('loses nothing; what is stored may be let go, is asked for again, and comes round to the bit', () => {
    const { page, heard } = recordSixteenBars();
    expect(page.all('layer-closed')).toHaveLength(1);
    expect(isWhole(page, 1)).toBe(true);
    expect(page.all('fault')).toEqual([]);
    expect(heard.wrong).toBe(0);
    expect(heard.compared).toBeGreaterThan(40 * BAR);
    expect(page.requests.filter(({ audio }) => audio === 1).length).toBeGreaterThan(100);
    expect(page.bytes).toBe(2 * SLAB_BYTES);
  });

  test('what is not stored stays, and the layers stream through what is left', () => {
    const { page, heard } = recordSixteenBars({ storing: Infinity });
    expect(page.requests.filter(({ audio }) => audio === 1)).toEqual([]);
    expect(page.all('fault')).toEqual([]);
    expect(heard.wrong).toBe(0);
  });

  test('what is stored late is asked for no sooner', () => {
    const { page } = recordSixteenBars({ storing: 10 * RATE });
    for (const { audio, chunk, at } of page.requests) {
      if (audio !== 1) continue;
      const begun = page.all('recording-started')[0]!.at;
      expect(at).toBeGreaterThanOrEqual(begun + (chunk + 1) * CHUNK_FRAMES + 10 * RATE);
    }
    expect(page.all('fault')).toEqual([]);
  });
});

describe('an open pass', { timeout: 60_000 }, () => {
  test('that closes after half a minute is there from its first frame, whatever streamed meanwhile', () => {
    const { page, heard } = streaming({ latency: () => 14_400 }, loops);
    page.rules(null);
    page.runUntil(page.origin + 2 * BAR);
    page.handle({ type: 'press', heard: frames(page.rendered) });
    page.runUntil(page.origin + 16 * BAR - 3000);
    page.handle({ type: 'press', heard: frames(page.rendered) });
    const start = 16 * BAR;
    heard.own = [{ id: 1, audio: INPUT, bodyStart: heard.origin + 2 * BAR, bodyFrames: 14 * BAR, start }];
    heard.from = start;
    page.runUntil(page.origin + 22 * BAR);
    page.hearOut();
    expect(page.late).toBe(0);
    expect(heard.wrong).toBe(0);
    expect(heard.compared).toBeGreaterThan(5 * BAR);
  });
});

describe('a pool that is full of what cannot be let go', { timeout: 60_000 }, () => {
  test('says so once; the recording goes on to storage whole', () => {
    const page = new StreamingPage({
      source,
      poolBytes: SLAB_BYTES,
      storing: Infinity,
      input: (frame) => source(INPUT, frame),
    });
    page.handle({ type: 'use-program', program: rowProgram({ grid: GRID, voices: [] }) });
    page.rules(64);
    page.handle({ type: 'press', heard: frames(page.rendered) });
    page.runUntil(page.rendered + 60 * RATE);
    expect(page.all('fault').map(({ kind, count }) => [kind, count])).toEqual([['pool-full', 1]]);
    expect(isWhole(page, 1)).toBe(true);
    expect(page.captured.get(1)!.length).toBeGreaterThan(55 * RATE);
  });

  test('leaves a hole in the loop that is counted, and asks for nothing that is not stored', () => {
    const page = new StreamingPage({
      source,
      poolBytes: SLAB_BYTES,
      storing: Infinity,
      input: (frame) => source(INPUT, frame),
    });
    page.handle({ type: 'use-program', program: rowProgram({ grid: GRID, voices: [] }) });
    page.rules(17);
    page.handle({ type: 'press', heard: frames(page.rendered) });
    page.runUntil(page.origin + 35 * BAR);
    page.hearOut();
    // The pool ends 128 chunks after the recording began, the body with the pass.
    const kept = page.all('recording-started')[0]!.at + 128 * CHUNK_FRAMES;
    const hole = page.origin + 17 * BAR - kept;
    // What comes in is kept in whole blocks.
    expect(page.late).toBeGreaterThanOrEqual(hole);
    expect(page.late).toBeLessThan(hole + 128);
    expect(page.requests).toEqual([]);
  });

  test('goes on as some of it is stored', () => {
    const page = new StreamingPage({
      source,
      poolBytes: SLAB_BYTES,
      storing: 50 * RATE,
      input: (frame) => source(INPUT, frame),
    });
    page.handle({ type: 'use-program', program: rowProgram({ grid: GRID, voices: [] }) });
    page.rules(null);
    page.handle({ type: 'press', heard: frames(page.rendered) });
    page.runUntil(page.rendered + 100 * RATE);
    expect(new Set(page.all('fault').map(({ kind }) => kind))).toEqual(new Set(['pool-full']));
    expect(isWhole(page, 1)).toBe(true);
    expect(page.captured.get(1)!.length).toBeGreaterThan(95 * RATE);
  });
});
