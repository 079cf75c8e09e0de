/** Snapshots of an invented player's evening: the songs of the harbour ferry. */
import { PRESS_RULES } from '../../../src/core/meter/presses.js';
import type { Ink, Stroke } from '../../../src/core/chart/ink.js';
import { defaultMetre } from '../../../src/core/meter/metres.js';
import type { Metre, NoteValue } from '../../../src/core/meter/metre.js';
import {
  asId,
  type LayerId,
  type RecordingId,
  type SectionId,
  type SongId,
  type TakeId,
} from '../../../src/core/song/ids.js';
import type { Layer, Section, Song } from '../../../src/core/song/song.js';
import { bars, bpm, decibels, frames, milliseconds, sampleRate } from '../../../src/core/units/index.js';
import type { RoundTripView } from '../../../src/rehearsal/round-trip-view.js';
import type { Snapshot, SoundDevices, SoundView, TransportView } from '../../../src/rehearsal/snapshot.js';

export const SECTION = asId<SectionId>('section-a');
const RATE = sampleRate(48_000);

/** Parts of the bar at which something is struck, with how hard. */
type Bar = readonly (readonly [at: number, height: number])[];

const every = (count: number, height: (i: number) => number): Bar =>
  Array.from({ length: count }, (_, i) => [i / count, height(i)]);

const PARTS = {
  drums: every(8, (i) => (i % 4 === 0 ? 0.95 : i % 4 === 2 ? 0.7 : 0.38)),
  bass: every(2, (i) => (i === 0 ? 0.9 : 0.65)),
  chords: every(4, (i) => (i === 0 ? 0.95 : 0.55 + 0.07 * i)),
  tune: [
    [0.06, 0.5],
    [0.31, 0.75],
    [0.5, 0.45],
    [0.72, 0.6],
  ],
  shaker: every(8, (i) => (i % 2 === 0 ? 0.6 : 0.3)),
} satisfies Readonly<Record<string, Bar>>;

export type PartName = keyof typeof PARTS;

/** The ink of a part over so many bars; the decay of a stroke ends a little before the next. */
export function inkOf(part: PartName, length: number, upTo = length): Ink {
  const onsets = Array.from({ length }, (_, bar) =>
    PARTS[part].map(([at, height]) => [bar + at + 0.004, height] as const),
  )
    .flat()
    .filter(([at]) => at < upTo);
  const strokes = onsets.map(([at, height], i): Stroke => {
    const next = Math.min(onsets[i + 1]?.[0] ?? upTo, upTo);
    const ring = part === 'drums' || part === 'shaker' ? 0.11 : 0.6;
    return { at: at / length, height, decay: Math.min(next - at, ring) / length };
  });
  return { strokes, bars: length };
}

export function layerNamed(name: string, change: Partial<Layer> = {}): Layer {
  const take = asId<TakeId>(`take of ${name}`);
  return {
    id: asId<LayerId>(`layer ${name}`),
    name,
    gain: decibels(0),
    leftOut: false,
    takes: [
      {
        id: take,
        recording: asId<RecordingId>(`recording of ${name}`),
        channel: 0,
        bodyStart: frames(0),
        bodyFrames: frames(480_000),
        lead: frames(0),
        tail: frames(0),
        startBar: bars(0),
        bars: bars(4),
        alignment: [{ fromBar: bars(0), roundTrip: frames(3744), how: 'estimated', sure: true }],
        seam: { chosen: null, pickup: false, decided: null },
      },
    ],
    takeInUse: take,
    blendOf: [],
    ...change,
  };
}

export interface Evening {
  readonly title?: string;
  readonly bars?: number | null;
  readonly metre?: Metre;
  readonly mark?: NoteValue;
  readonly tempo?: number;
  readonly layers?: readonly (readonly [name: string, part: PartName, change?: Partial<Layer>])[];
}

/** A stopped snapshot of a song with one section; `change` lays anything over it. */
export function snapshotOf(evening: Evening = {}, change: Partial<Snapshot> = {}): Snapshot {
  const usual = defaultMetre(4, 4);
  const layers = (evening.layers ?? []).map(([name, , changed]) => layerNamed(name, changed));
  const length = evening.bars === undefined ? 4 : evening.bars;
  const section: Section = {
    id: SECTION,
    mark: 'A',
    name: 'Verse',
    bars: length === null ? null : bars(length),
    stretches: [],
    layers,
    recede: decibels(0),
  };
  const tempo = bpm(evening.tempo ?? 96);
  const song: Song = {
    schema: 1,
    id: asId<SongId>('song'),
    title: evening.title ?? 'Last Boat Home',
    sampleRate: RATE,
    tempo: { bpm: tempo, mark: evening.mark ?? usual.mark },
    metre: evening.metre ?? usual.metre,
    countIn: null,
    click: { on: true, gain: decibels(-12) },
    sections: [section],
    ideas: [],
  };
  return {
    song,
    sectionInHand: SECTION,
    sound: layers.length === 0 ? { state: 'asleep' } : OPEN_SOUND,
    choice: { inputId: null, outputId: null, pace: 'steady' },
    devices: null,
    change: null,
    trip: null,
    keeping: { state: 'kept' },
    transport: layers.length === 0 ? READY : { ...READY, pressMeans: 'play' },
    health: { load: null, gaps: 0, lateFrames: 0, lostFrames: 0, timesFull: 0, damagedSamples: 0 },
    passes: { channels: [0], keepLayering: false, bars: null, presses: PRESS_RULES, anotherTakeOf: null },
    taps: null,
    isFree: false,
    readings: null,
    notice: null,
    canTakeBack: null,
    canPutBack: null,
    layers: (evening.layers ?? []).map(([, part], i) => ({
      section: SECTION,
      layer: layers[i]!.id,
      ink: inkOf(part, length ?? 4),
    })),
    passInk: null,
    soundingBpm: tempo,
    ...change,
  };
}

export const READY: TransportView = {
  state: 'stopped',
  bar: null,
  bars: null,
  layerName: null,
  next: 'nothing',
  pressMeans: 'record',
};

export const OPEN_SOUND: Extract<SoundView, { state: 'open' }> = {
  state: 'open',
  inputName: 'Two-channel interface',
  inputChannels: 2,
  sampleRate: RATE,
  roundTrip: { frames: frames(3744), ms: milliseconds(78), how: 'estimated' },
  processing: [],
  interruption: null,
};

/** What an evening begins with: the browser's own figures. */
export const ESTIMATE: RoundTripView = {
  frames: frames(3808),
  ms: milliseconds(78),
  how: 'estimated',
  sure: false,
  within: frames(0),
  measuredAt: null,
  isFresh: false,
  measuring: null,
  outcome: null,
  advice: { type: 'measure-again' },
  device: 'fine',
  clocks: null,
  reference: { side: null, channel: 1, layout: 'sides', can: 'yes', isLost: false },
  level: decibels(-36),
};

export const DEVICES: SoundDevices = {
  inputs: [
    { id: 'interface-in', name: 'Two-channel interface' },
    { id: 'built-in', name: 'Built-in microphone' },
  ],
  outputs: [{ id: 'interface-out', name: 'Two-channel interface' }],
  named: true,
  outputCanBeChosen: true,
};
