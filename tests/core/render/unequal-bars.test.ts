import { describe, expect, test } from 'vitest';
import { compile } from '../../../src/core/program/compile.js';
import { LoopRender } from '../../../src/core/render/render-loop.js';
import { asId, type LayerId, type SectionId } from '../../../src/core/song/ids.js';
import { newSong } from '../../../src/core/song/new-song.js';
import type { SectionStretch } from '../../../src/core/song/section-stretch.js';
import { stretchesOfSection } from '../../../src/core/song/section-time.js';
import type { Layer, Section, Song, Take } from '../../../src/core/song/song.js';
import { bars, bpm, decibels, frames, sampleRate } from '../../../src/core/units/index.js';
import { barProgram } from '../../support/bar-programs.js';
import { Performance } from '../../support/performance.js';
import { stretchTable } from '../../support/stretch-table.js';
import { gradual, holdBeats, metre, steady, tempo } from '../meter/given.js';

const RATE = sampleRate(48_000);
const LEAD = 5000;

/** Six bars: two of 4/4 at 120, a rit. over two down to 80, one of 2/4, one whose last beat is held. */
const stretches: readonly SectionStretch[] = [
  { type: 'gradual', fromBar: bars(2), metre: null, tempo: null, toBpm: bpm(80), holds: [] },
  { type: 'steady', fromBar: bars(4), metre: metre(2, 4), tempo: null, holds: [] },
  { type: 'steady', fromBar: bars(5), metre: null, tempo: null, holds: [holdBeats(0, 3, 1.5)] },
];
const BARS = 6;

const empty = newSong({ id: asId('song'), sectionId: asId('section'), title: 'Slack water', sampleRate: RATE });
const open: Section = { ...empty.sections[0]!, bars: bars(BARS), stretches };
const song: Song = { ...empty, tempo: { ...empty.tempo, bpm: bpm(120) }, sections: [open] };

const table = stretchTable([...stretchesOfSection(song, open), steady(1, song.metre, song.tempo)], RATE);
const ROUND = table.lineOf(bars(BARS));
/** The line of any bar from 0 on, round after round. */
const lineOf = (bar: number): number => Math.floor(bar / BARS) * ROUND + table.lineOf(bars(bar % BARS));

/** The take of bars [startBar, startBar + count), in the middle of its recording. */
const takeOf = (startBar: number, count: number): Take => ({
  id: asId('take'),
  recording: asId('recording'),
  channel: 0,
  bodyStart: frames(LEAD),
  bodyFrames: frames(lineOf(startBar + count) - lineOf(startBar)),
  lead: frames(LEAD),
  tail: frames(0),
  startBar: bars(startBar),
  bars: bars(count),
  alignment: [{ fromBar: bars(0), roundTrip: frames(0), how: 'cable', sure: true }],
  seam: { chosen: null, pickup: false, decided: null },
});

/** Frames at which something is heard, once round `rounds` rounds of the section, of a take with a stroke at each place. */
function heardIn(take: Take, places: readonly number[], rounds: number): readonly number[] {
  const layer: Layer = {
    id: asId<LayerId>('layer'),
    name: 'Oars',
    gain: decibels(0),
    leftOut: false,
    takes: [take],
    takeInUse: take.id,
    blendOf: [],
  };
  const whole: Song = { ...song, sections: [{ ...open, layers: [layer] }] };
  const handles = { voiceOf: () => 1, audioOf: () => 1, passesKnown: 0 };
  const program = compile(whole, { type: 'loop', section: asId<SectionId>('section') }, handles, 1);
  const samples = new Float32Array(LEAD + take.bodyFrames);
  for (const place of places) samples[LEAD + place] = 0.5;
  const render = new LoopRender(frames(rounds * ROUND), RATE);
  render.add(program, [{ audio: 1, channel: 0, start: 0, samples }]);
  return [...render.samples.entries()].filter(([, sample]) => sample !== 0).map(([frame]) => frame);
}

describe('a layer over bars that are not equal', () => {
  test.each([
    ['the whole section', 0, 6, 1],
    ['the whole section, begun in its third bar', 2, 6, 1],
    ['two rounds', 3, 12, 2],
    ['its first bar', 0, 1, 1],
    ['a bar of the rit.', 3, 1, 1],
    ['the bar of 2/4 and the one before', 3, 2, 1],
    ['its last bar, where a beat is held', 5, 1, 1],
    ['its last bar and the first again', 5, 2, 1],
    ['eight bars, every other round', 1, 8, 2],
  ])('sounds at the lines that it was played to: %s', (_, startBar, count, rounds) => {
    const take = takeOf(startBar, count);
    // A stroke at each of its lines, and one just before its end, where no fade is yet.
    const lines = Array.from({ length: count }, (__, bar) => lineOf(startBar + bar) - lineOf(startBar));
    const places = [...lines, take.bodyFrames - 1000];
    const expected = places.map((place) => (lineOf(startBar) + place) % (rounds * ROUND));
    expect(heardIn(take, places, rounds)).toEqual(expected.toSorted((a, b) => a - b));
  });

  test('is silent where it does not lie', () => {
    const take = takeOf(1, 2);
    const heard = heardIn(take, [0, 1], 3);
    expect(heard).toEqual([0, 1, 2].flatMap((round) => [0, 1].map((place) => round * ROUND + lineOf(1) + place)));
  });
});

describe('a pass over bars that are not equal', () => {
  test('comes again at the lines that it was played to, before any program names it', () => {
    const list = [steady(1, metre(4, 4), tempo(120)), gradual(2, metre(4, 4), tempo(120), 60)];
    const round = stretchTable([...list, steady(1, metre(4, 4), tempo(60))], RATE).lineOf(bars(3));
    const p = new Performance();
    p.useProgram(barProgram(list));
    p.rules(1);
    p.handle({ type: 'press', heard: frames(p.heard) });
    const { origin } = p;
    // One frame that is not zero, in the middle of the bar.
    p.play = (frame) => (frame === origin + 50_000 ? 0.5 : 0);
    p.runUntil(origin + 3 * round + 60_000);
    const heard = [...p.left.slice(origin + 96_000).entries()].filter(([, sample]) => sample !== 0);
    expect(heard.map(([frame]) => frame + 96_000)).toEqual([1, 2, 3].map((k) => k * round + 50_000));
  });
});
