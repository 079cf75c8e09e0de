/** Programs for tests, made from songs as the app makes them. */
import { compile } from '../../src/core/program/compile.js';
import type { Program } from '../../src/core/program/program.js';
import type { Metre, NoteValue } from '../../src/core/meter/metre.js';
import type { Seam } from '../../src/core/seam/seam.js';
import { asId } from '../../src/core/song/ids.js';
import type { LayerId, RecordingId, SectionId, SongId, TakeId } from '../../src/core/song/ids.js';
import { newSong } from '../../src/core/song/new-song.js';
import type { Layer, Song } from '../../src/core/song/song.js';
import { bars, bpm, decibels, frames, sampleRate } from '../../src/core/units/index.js';

/** The voice of a later run of a layer's take is so many a bar above the layer's. */
export const RUN_VOICES = 100_000;

export interface TestLayer {
  readonly voice: number;
  readonly audio: number;
  readonly bodyStart: number;
  readonly bodyFrames: number;
  readonly bars: number;
  readonly startBar?: number;
  readonly gain?: number;
  readonly leftOut?: boolean;
  readonly channel?: number;
  readonly lead?: number;
  readonly tail?: number;
  /** Bars of the take from which its audio lies so many frames later. */
  readonly moves?: readonly (readonly [fromBar: number, shift: number])[];
  /** Null until somebody has listened. */
  readonly seam?: Seam | null;
}

export interface TestSong {
  readonly rate?: number;
  readonly bpm?: number;
  readonly metre?: Metre;
  readonly mark?: NoteValue;
  readonly sectionBars?: number | null;
  readonly layers?: readonly TestLayer[];
  /** In dB. */
  readonly recede?: number;
}

function songOf(options: TestSong = {}): Song {
  const song = newSong({
    id: asId<SongId>('song'),
    sectionId: asId<SectionId>('section'),
    title: 'Last Boat Home',
    sampleRate: sampleRate(options.rate ?? 48_000),
  });
  const section = song.sections[0];
  if (section === undefined) throw new Error('Got no section when expected one.');
  const length = options.sectionBars ?? null;
  return {
    ...song,
    tempo: { bpm: bpm(options.bpm ?? 96), mark: options.mark ?? { num: 1, den: 4 } },
    metre: options.metre ?? song.metre,
    sections: [
      {
        ...section,
        bars: length === null ? null : bars(length),
        layers: (options.layers ?? []).map(layerOf),
        recede: decibels(options.recede ?? 0),
      },
    ],
  };
}

export function programOf(options: TestSong = {}, revision = 1, passesKnown = revision - 1): Program {
  const layers = options.layers ?? [];
  return compile(
    songOf(options),
    { type: 'loop', section: asId<SectionId>('section') },
    {
      voiceOf: (layer, fromBar) =>
        (layers.find((each) => `layer ${each.voice}` === layer)?.voice ?? 0) + RUN_VOICES * fromBar,
      audioOf: (recording) => Number(recording),
      passesKnown,
    },
    revision,
  );
}

function layerOf(layer: TestLayer): Layer {
  const take = asId<TakeId>(`take ${layer.voice}`);
  return {
    id: asId<LayerId>(`layer ${layer.voice}`),
    name: `Layer ${layer.voice}`,
    gain: decibels(layer.gain ?? 0),
    leftOut: layer.leftOut ?? false,
    takeInUse: take,
    blendOf: [],
    takes: [
      {
        id: take,
        recording: asId<RecordingId>(String(layer.audio)),
        channel: layer.channel ?? 0,
        bodyStart: frames(layer.bodyStart),
        bodyFrames: frames(layer.bodyFrames),
        lead: frames(layer.lead ?? layer.bodyStart),
        tail: frames(layer.tail ?? Math.max(0, layer.seam?.tailFrames ?? 0)),
        startBar: bars(layer.startBar ?? 0),
        bars: bars(layer.bars),
        alignment: [[0, 0] as const, ...(layer.moves ?? [])].map(([fromBar, roundTrip]) => ({
          fromBar: bars(fromBar),
          roundTrip: frames(roundTrip),
          how: 'measured',
          sure: true,
        })),
        seam: { chosen: null, pickup: false, decided: layer.seam ?? null },
      },
    ],
  };
}
