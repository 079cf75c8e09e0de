/**
 * Any split into blocks gives the same samples. What the player does falls on frames, so a whole performance is the same
 * however it is cut, as long as the cuts fall where the player does something; only the two blocks by which a change comes
 * late are blocks, so those before it are as long in every split.
 */
import { describe, expect, test } from 'vitest';
import fc from 'fast-check';
import type { EngineReport } from '../../../src/core/render/commands.js';
import { bars, frames } from '../../../src/core/units/index.js';
import { Performance } from '../../support/performance.js';
import { rowProgram } from '../../support/row-programs.js';
import type { PageLayer } from '../../support/song-page.js';
import { SongPage } from '../../support/song-page.js';
import { firstDifference, noiseAt } from '../../support/signals.js';

const BAR = 12_000;
const GRID = { rate: 48_000, barFrames: BAR, pulses: 4, beats: 0b1111 };
const STORED = 1000;
const EVEN = 128;

/** Something that happens at a frame. */
type Deed = (p: Performance, page: SongPage) => void;

const press: Deed = (p) => p.handle({ type: 'press', heard: frames(p.heard) });
const send =
  (change: (layer: PageLayer, index: number) => PageLayer): Deed =>
  (p, page) => {
    for (const closed of p.all('layer-closed')) {
      if (!page.layers.some((layer) => layer.voice === closed.pass)) page.take(closed);
    }
    page.layers = page.layers.map(change);
    page.send();
  };
const same = (layer: PageLayer): PageLayer => layer;

/** A performance with everything in it, as deeds at multiples of 128 frames. */
const PERFORMANCE: readonly (readonly [frame: number, deed: Deed])[] = [
  [EVEN * 10, press],
  // Recording two bars from about frame 13,500 on, closed at once when they are over; a layer of three over it, twice.
  [EVEN * 310, (p) => p.rules(3)],
  [EVEN * 320, send(same)],
  [EVEN * 420, press],
  [EVEN * 560, press],
  [EVEN * 1200, send((layer, i) => ({ ...layer, left: 0.5 + i / 4, right: 0.2 }))],
  [EVEN * 1201, send((layer, i) => ({ ...layer, leftOut: i === 0 }))],
  [EVEN * 1350, send((layer) => ({ ...layer, leftOut: false, left: 0.3, right: 0.6 }))],
  [EVEN * 1500, (p) => p.handle({ type: 'keep-that', heard: frames(p.heard), bars: bars(2) })],
  [EVEN * 1600, (p) => p.handle({ type: 'set-click', playing: true, gain: 0.1 as never })],
  [EVEN * 1800, send(same)],
  [EVEN * 1900, (p) => p.handle({ type: 'go', slot: 0, heard: frames(p.heard) })],
  [EVEN * 2400, (p) => p.handle({ type: 'stop', heard: frames(p.heard) })],
  [EVEN * 2500, (p) => p.handle({ type: 'play', heard: frames(p.heard) })],
  [EVEN * 2900, (p) => p.handle({ type: 'stop', heard: frames(p.heard) })],
  [EVEN * 3000, () => undefined],
];

/** Plays it in blocks of the sizes given, over and over; the three before each deed are 128 frames long. */
function perform(sizes: readonly number[]): Performance {
  let next = 0;
  let size = EVEN;
  const p = new Performance({ blockSize: () => size, roundTrip: 2000, outputDelay: 1000 });
  p.stored.set(STORED, [Array.from({ length: 5 * BAR }, (_, i) => 0.1 * noiseAt(i, 3))]);
  p.play = (heard) => Math.fround(0.1 * noiseAt(heard, 1 + Math.floor(heard / 9000)));
  const other = { id: STORED, audio: STORED, bodyStart: 1000, bodyFrames: 3 * BAR, lead: 500, start: 0 };
  p.handle({ type: 'stand-by', slot: 0, program: rowProgram({ grid: { ...GRID, barFrames: 9000 }, voices: [other] }) });
  const page = new SongPage(p, GRID);
  page.send();
  p.rules(2);
  for (const [frame, deed] of PERFORMANCE) {
    const even = frame - 3 * EVEN;
    while (p.rendered < even) {
      size = Math.min(sizes[next++ % sizes.length]!, even - p.rendered);
      p.runUntil(p.rendered + size);
    }
    size = EVEN;
    p.runUntil(frame);
    deed(p, page);
  }
  return p;
}

/** What was said, but for what only says in which block something was noticed. */
function said(p: Performance): unknown[] {
  const kinds: readonly EngineReport['type'][] = [
    'layer-closed',
    'recording-started',
    'recording-ended',
    'section-changes',
    'pass-dropped',
    'refused',
  ];
  return p.reports.filter((report) => kinds.includes(report.type));
}

describe('a whole performance', () => {
  test('is the same to the bit, and so is what is said of it, in any split into blocks', () => {
    const even = perform([EVEN]);
    expect(even.all('layer-closed')).toHaveLength(4);
    expect(even.all('section-changes')).toHaveLength(1);
    expect(even.left.some((sample, i) => sample !== even.house[i])).toBe(true);
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 1, max: 3000 }), { minLength: 1, maxLength: 8 }), (sizes) => {
        const p = perform(sizes);
        for (const side of ['left', 'right', 'house'] as const) expect(firstDifference(p[side], even[side])).toBe(-1);
        expect(said(p)).toEqual(said(even));
        for (const { audio, bodyStart, bodyFrames } of even.all('layer-closed')) {
          const body = (each: Performance) =>
            Float32Array.from(each.stored.get(audio)![0]!.slice(bodyStart, bodyStart + bodyFrames));
          expect(firstDifference(body(p), body(even))).toBe(-1);
        }
      }),
      { numRuns: 12 },
    );
  }, 60_000);
});
