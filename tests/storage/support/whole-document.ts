/** A stored history with every field and every kind of edit in it. */
import type { StoredHistory } from '../../../src/core/history/history.js';
import type { Seam } from '../../../src/core/seam/seam.js';
import type { Edit } from '../../../src/core/song/edits.js';
import { asId, type RecordingId, type SectionId, type SongId, type TakeId } from '../../../src/core/song/ids.js';
import { newSong } from '../../../src/core/song/new-song.js';
import type { SectionStretch } from '../../../src/core/song/section-stretch.js';
import type { Alignment, Idea, Layer, Song, Take } from '../../../src/core/song/song.js';
import { bars, bpm, decibels, frames, sampleRate } from '../../../src/core/units/index.js';

const verse = asId<SectionId>('section-verse');
const chorus = asId<SectionId>('section-chorus');
const bridge = asId<SectionId>('section-bridge');

const alignment: readonly Alignment[] = [
  { fromBar: bars(0), roundTrip: frames(4928), how: 'measured', sure: true },
  { fromBar: bars(2), roundTrip: frames(5236), how: 'estimated', sure: false },
];

const seam: Seam = {
  kind: 'early-attack',
  leadFrames: frames(2016),
  fadeInFrames: frames(96),
  fadeInShape: 0.25,
  tailFrames: frames(-1920),
  fadeOutFrames: frames(96),
  fadeOutShape: 0.25,
  mayOverlap: false,
};

const take = (name: string, recording: string, number = 1): Take => ({
  id: asId(`take-${name}-${number}`),
  recording: asId<RecordingId>(recording),
  channel: 0,
  bodyStart: frames(4928),
  bodyFrames: frames(480_000),
  lead: frames(2400),
  tail: frames(960),
  startBar: bars(0),
  bars: bars(4),
  alignment,
  seam: { chosen: null, pickup: false, decided: null },
});

const layer = (name: string, recording: string): Layer => ({
  id: asId(`layer-${name}`),
  name,
  gain: decibels(-3.5),
  leftOut: false,
  takes: [take(name, recording)],
  takeInUse: asId(`take-${name}-1`),
  blendOf: [],
});

const oars = layer('Oars', 'recording-oars');
const bell = layer('Bell buoy', 'recording-bell');
const rope = layer('Rope', 'recording-deck');
const boots: Layer = {
  ...layer('Boots', 'recording-deck'),
  takes: [{ ...take('Boots', 'recording-deck'), channel: 1 }],
};
const deck = layer('Deck', 'recording-blend');
const oarsAgain: Take = {
  ...take('Oars', 'recording-oars', 2),
  seam: { chosen: 'pickup', pickup: true, decided: seam },
};
const inOars = { section: verse, layer: oars.id, take: asId<TakeId>('take-Oars-1') };
const hum: Idea = {
  id: asId('idea-hum'),
  recording: asId('recording-hum'),
  channel: 0,
  start: frames(1_920_000),
  frames: frames(288_000),
  at: '2031-05-04T19:28:00.000Z',
};

/** A stretch of every kind, with a fermata of every kind. */
const stretches: readonly SectionStretch[] = [
  {
    type: 'gradual',
    fromBar: bars(0),
    metre: null,
    tempo: null,
    toBpm: bpm(70),
    holds: [
      { bar: bars(0), beat: 1, longer: { type: 'beats', beats: 1.5 } },
      { bar: bars(0), beat: 2, longer: { type: 'frames', frames: frames(24_000) } },
    ],
  },
  {
    type: 'steady',
    fromBar: bars(1),
    metre: { num: 2, den: 4, groups: [1, 1] },
    tempo: { bpm: bpm(70), mark: { num: 1, den: 4 } },
    holds: [{ bar: bars(0), beat: 1, longer: { type: 'until-pressed' } }],
  },
  { type: 'free', fromBar: bars(2), frames: frames(96_000) },
  { type: 'free', fromBar: bars(3), frames: null },
];

const base: Song = {
  ...newSong({
    id: asId<SongId>('song-harbour'),
    sectionId: verse,
    title: 'Harbour wall',
    sampleRate: sampleRate(48_000),
  }),
  countIn: bars(1),
  sections: [
    { id: verse, mark: 'A', name: 'Verse', bars: null, stretches: [], layers: [], recede: decibels(0) },
    { id: chorus, mark: 'B', name: 'Chorus', bars: null, stretches: [], layers: [], recede: decibels(0.5) },
  ],
};

const edits: readonly Edit[] = [
  { type: 'retitle', title: 'The harbour wall' },
  { type: 'set-tempo', bpm: bpm(92.5) },
  { type: 'set-metre', metre: { num: 6, den: 8, groups: [3, 3] }, mark: { num: 3, den: 8 } },
  { type: 'set-count-in', bars: bars(2) },
  { type: 'set-count-in', bars: null },
  { type: 'set-click', on: false },
  { type: 'set-section-bars', section: chorus, bars: bars(8) },
  { type: 'set-section-bars', section: chorus, bars: null },
  { type: 'add-layers', section: verse, layers: [oars], sectionBars: bars(4) },
  { type: 'add-layers', section: chorus, layers: [bell], sectionBars: bars(4) },
  { type: 'rename-layer', section: verse, layer: oars.id, name: 'Oars, low' },
  { type: 'leave-out', section: verse, layer: oars.id, out: true },
  { type: 'set-layer-gain', section: chorus, layer: bell.id, gain: decibels(2) },
  { type: 'add-take', section: verse, layer: oars.id, take: oarsAgain },
  { type: 'use-take', ...inOars },
  { type: 'set-seam', ...inOars, seam },
  { type: 'choose-seam', ...inOars, chosen: 'let-ring', pickup: false },
  {
    type: 'realign',
    ...inOars,
    alignment: alignment.slice(0, 1).map((each) => ({ ...each, roundTrip: frames(4930) })),
  },
  { type: 'set-recede', section: verse, recede: decibels(1.5) },
  { type: 'add-layers', section: verse, layers: [rope, boots], sectionBars: bars(4) },
  { type: 'blend', section: verse, layers: [rope.id, boots.id], into: deck },
  { type: 'take-apart', section: verse, layer: deck.id },
  { type: 'add-idea', idea: hum },
  { type: 'drop-idea', idea: hum.id },
];

export const wholeDocument: StoredHistory = {
  base,
  edits: edits.map((edit, index) => ({ seq: index + 1, edit, at: `2031-05-04T19:30:${10 + index}.000Z` })),
  cursor: edits.length - 1,
};

/** The same song as a base: layers, stretches and all lie in the sections. */
export const layeredDocument: StoredHistory = {
  base: {
    ...base,
    sections: [
      {
        id: verse,
        mark: 'A',
        name: 'Verse',
        bars: bars(4),
        stretches: [],
        layers: [
          { ...oars, takes: [...oars.takes, oarsAgain] },
          { ...deck, blendOf: [rope, boots] },
        ],
        recede: decibels(1.5),
      },
      { id: chorus, mark: 'B', name: 'Chorus', bars: bars(4), stretches, layers: [bell], recede: decibels(0) },
      { id: bridge, mark: 'C', name: 'Bridge', bars: bars(4), stretches: [], layers: [], recede: decibels(0) },
    ],
    ideas: [hum],
  },
  edits: [
    {
      seq: 1,
      edit: { type: 'set-stretches', section: bridge, stretches, settles: false },
      at: '2031-05-04T19:30:00.000Z',
    },
  ],
  cursor: 1,
};
