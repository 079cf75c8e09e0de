/**
 * The song: deeply readonly data without samples. Takes are windows onto recordings, named by id; nothing here is ever
 * changed in place (see apply-edit.ts).
 */
import type { Tempo } from '../meter/grid.js';
import type { Metre } from '../meter/metre.js';
import type { Seam, SeamKind } from '../seam/seam.js';
import type { Bars, Decibels, Frames, SampleRate } from '../units/index.js';
import type { TripMark } from '../watch/alignments.js';
import type { IdeaId, LayerId, RecordingId, SectionId, SongId, TakeId } from './ids.js';
import type { SectionStretch } from './section-stretch.js';

export const SONG_SCHEMA = 1;

/** How a round trip became known. `stated`: the player gave the figure. */
export type RoundTripSource = 'cable' | 'measured' | 'estimated' | 'stated';

/** From a bar of the take on, this round trip held. Frames from the engine's mix to its input ring. */
export interface Alignment {
  readonly fromBar: Bars;
  readonly roundTrip: Frames;
  readonly how: RoundTripSource;
  /** False where something happened that may have moved the audio. */
  readonly sure: boolean;
  /** Where it is sure, good to so many frames either way; to the frame where it is not said. */
  readonly within?: Frames;
}

/** How a take's end meets its beginning. */
export interface TakeSeam {
  /** What the player asked for; null leaves it to what is heard at the lines. */
  readonly chosen: SeamKind | null;
  /** The player says that notes before the first line belong to the layer. */
  readonly pickup: boolean;
  /** What applies; null until the lines have been listened to. */
  readonly decided: Seam | null;
}

/** A window onto a recording. Frames count from the recording's first frame. */
export interface Take {
  readonly id: TakeId;
  readonly recording: RecordingId;
  /** Input channel of the recording, from 0. */
  readonly channel: number;
  readonly bodyStart: Frames;
  readonly bodyFrames: Frames;
  /** Frames before the body that the seam may use. */
  readonly lead: Frames;
  /** Frames after the body that the seam may use. */
  readonly tail: Frames;
  /** The bar at which the body was played, from the section's first; past its last where the body took more than one round. */
  readonly startBar: Bars;
  /** Length of the body in bars. */
  readonly bars: Bars;
  /** In order of `fromBar`; the first is bar 0, and it is the one that placed the body (see edit-take.ts). */
  readonly alignment: readonly Alignment[];
  /** What happened to the round trip while it was played, to be explained where it stands; none where it is not said. */
  readonly marks?: readonly TripMark[];
  readonly seam: TakeSeam;
}

/** One sound over a section. */
export interface Layer {
  readonly id: LayerId;
  readonly name: string;
  readonly gain: Decibels;
  readonly leftOut: boolean;
  /** Takes in the order they were played; never empty. */
  readonly takes: readonly Take[];
  readonly takeInUse: TakeId;
  /** The layers that were rendered into this one, as they were; empty for a layer that was played. */
  readonly blendOf: readonly Layer[];
}

/** A stretch of bars with a rehearsal mark. */
export interface Section {
  readonly id: SectionId;
  /** Rehearsal mark: A, B, C … without I. */
  readonly mark: string;
  readonly name: string;
  /** Null until the first pass has closed at a bar line or a length was set. */
  readonly bars: Bars | null;
  /** What changes at its bar lines, in their order; empty: the song's tempo and metre throughout. Only where it has a length. */
  readonly stretches: readonly SectionStretch[];
  /** In the order they were made. */
  readonly layers: readonly Layer[];
  /** How much quieter each layer but the first is for every layer after it: 0 or more. */
  readonly recede: Decibels;
}

/** A phrase that was kept without tempo or bars, to be fitted later: a window onto a recording. */
export interface Idea {
  readonly id: IdeaId;
  readonly recording: RecordingId;
  /** Input channel of the recording, from 0. */
  readonly channel: number;
  readonly start: Frames;
  readonly frames: Frames;
  /** When it was kept: ISO 8601, from the clock port. */
  readonly at: string;
}

export interface Click {
  /** Heard while playing. The count-in always sounds. */
  readonly on: boolean;
  readonly gain: Decibels;
}

export interface Song {
  readonly schema: typeof SONG_SCHEMA;
  readonly id: SongId;
  readonly title: string;
  readonly sampleRate: SampleRate;
  /** What the player asked for; what sounds is rounded to whole frames a bar (core/meter/grid). */
  readonly tempo: Tempo;
  readonly metre: Metre;
  /** Bars counted before the first pass. Null: two if a bar is under two seconds, else one. */
  readonly countIn: Bars | null;
  readonly click: Click;
  /** At least one. */
  readonly sections: readonly Section[];
  /** In the order they were kept. */
  readonly ideas: readonly Idea[];
}

/** What is known of a recording without its samples. Immutable once finished. */
export interface RecordingHeader {
  readonly id: RecordingId;
  readonly song: SongId;
  readonly sampleRate: SampleRate;
  /** Channels of the input that were kept, planar. */
  readonly channels: number;
  /** ISO 8601, from the clock port. */
  readonly startedAt: string;
}
