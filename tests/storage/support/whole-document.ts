/** A stored history with every field and every kind of edit in it. */
import type { StoredHistory } from '../../../src/core/history/history.js';
import type { Edit } from '../../../src/core/song/edits.js';
import { asId, type RecordingId, type SectionId, type SongId } from '../../../src/core/song/ids.js';
import { newSong } from '../../../src/core/song/new-song.js';
import type { Layer, Song } from '../../../src/core/song/song.js';
import { bars, bpm, decibels, frames, sampleRate } from '../../../src/core/units/index.js';

const verse = asId<SectionId>('section-verse');
const chorus = asId<SectionId>('section-chorus');

const layer = (name: string, recording: string): Layer => ({
  id: asId(`layer-${name}`),
  name,
  gain: decibels(-3.5),
  leftOut: false,
  takes: [
    {
      id: asId(`take-${name}-1`),
      recording: asId<RecordingId>(recording),
      channel: 0,
      bodyStart: frames(4928),
      bodyFrames: frames(480_000),
      lead: frames(2400),
      tail: frames(960),
      startBar: bars(0),
      bars: bars(4),
      alignment: [
        { fromBar: bars(0), roundTrip: frames(4928), how: 'measured', sure: true },
        { fromBar: bars(2), roundTrip: frames(5236), how: 'estimated', sure: false },
      ],
    },
  ],
  takeInUse: asId(`take-${name}-1`),
});

const oars = layer('Oars', 'recording-oars');
const bell = layer('Bell buoy', 'recording-bell');

const base: Song = {
  ...newSong({
    id: asId<SongId>('song-harbour'),
    sectionId: verse,
    title: 'Harbour wall',
    sampleRate: sampleRate(48_000),
  }),
  countIn: bars(1),
  sections: [
    { id: verse, mark: 'A', name: 'Verse', bars: null, layers: [] },
    { id: chorus, mark: 'B', name: 'Chorus', bars: null, layers: [] },
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
  { type: 'add-layer', section: verse, layer: oars, sectionBars: bars(4) },
  { type: 'add-layer', section: chorus, layer: bell, sectionBars: bars(4) },
  { type: 'rename-layer', section: verse, layer: oars.id, name: 'Oars, low' },
  { type: 'leave-out', section: verse, layer: oars.id, out: true },
  { type: 'set-layer-gain', section: chorus, layer: bell.id, gain: decibels(2) },
];

export const wholeDocument: StoredHistory = {
  base,
  edits: edits.map((edit, index) => ({ seq: index + 1, edit, at: `2031-05-04T19:30:${10 + index}.000Z` })),
  cursor: edits.length - 1,
};

/** The same song as a base: layers and all lie in the sections. */
export const layeredDocument: StoredHistory = {
  base: {
    ...base,
    sections: [
      { id: verse, mark: 'A', name: 'Verse', bars: bars(4), layers: [oars] },
      { id: chorus, mark: 'B', name: 'Chorus', bars: bars(4), layers: [bell] },
    ],
  },
  edits: [],
  cursor: 0,
};
