/** Edits as data: what a player does to a song, each with the reasons for which it can be refused. */
import type { Metre, NoteValue } from '../meter/metre.js';
import type { Seam, SeamKind } from '../seam/seam.js';
import type { Bars, Bpm, Decibels, Frames } from '../units/index.js';
import type { TripMark } from '../watch/alignments.js';
import type { IdeaId, LayerId, SectionId, TakeId } from './ids.js';
import type { SectionStretch } from './section-stretch.js';
import type { Alignment, Idea, Layer, Take } from './song.js';

/** What a loop that was played without a tempo is read as. */
export interface LoopReading {
  readonly section: SectionId;
  readonly bpm: Bpm;
  readonly bars: Bars;
  /** `bars` × the frames of a bar at that tempo. */
  readonly bodyFrames: Frames;
}

export type Edit =
  | { readonly type: 'retitle'; readonly title: string }
  | { readonly type: 'set-tempo'; readonly bpm: Bpm }
  | { readonly type: 'set-metre'; readonly metre: Metre; readonly mark: NoteValue }
  | { readonly type: 'set-count-in'; readonly bars: Bars | null }
  | { readonly type: 'set-click'; readonly on: boolean }
  | { readonly type: 'set-section-bars'; readonly section: SectionId; readonly bars: Bars | null }
  /**
   * All that changes at the bar lines of a section; none: the song's tempo and metre throughout. `settles`: what waited for
   * a press is as long as it was when the section's first layers were recorded; it comes with them.
   */
  | {
      readonly type: 'set-stretches';
      readonly section: SectionId;
      readonly stretches: readonly SectionStretch[];
      readonly settles: boolean;
    }
  /** What one pass played: a layer for every input channel. */
  | {
      readonly type: 'add-layers';
      readonly section: SectionId;
      readonly layers: readonly Layer[];
      /** Gives an open section its length: that of its first pass. */
      readonly sectionBars: Bars;
    }
  | { readonly type: 'rename-layer'; readonly section: SectionId; readonly layer: LayerId; readonly name: string }
  | { readonly type: 'leave-out'; readonly section: SectionId; readonly layer: LayerId; readonly out: boolean }
  | { readonly type: 'set-layer-gain'; readonly section: SectionId; readonly layer: LayerId; readonly gain: Decibels }
  | { readonly type: 'set-recede'; readonly section: SectionId; readonly recede: Decibels }
  /** The take becomes the one in use. */
  | { readonly type: 'add-take'; readonly section: SectionId; readonly layer: LayerId; readonly take: Take }
  | { readonly type: 'use-take'; readonly section: SectionId; readonly layer: LayerId; readonly take: TakeId }
  /** What was heard at the lines of a take. No step of the player's: see isSilent. */
  | {
      readonly type: 'set-seam';
      readonly section: SectionId;
      readonly layer: LayerId;
      readonly take: TakeId;
      readonly seam: Seam;
    }
  /** What the player wants of a take's seam; its lines are listened to anew. */
  | {
      readonly type: 'choose-seam';
      readonly section: SectionId;
      readonly layer: LayerId;
      readonly take: TakeId;
      readonly chosen: SeamKind | null;
      readonly pickup: boolean;
    }
  /** A better round trip moves the window, never the audio; its lines are listened to anew. */
  | {
      readonly type: 'realign';
      readonly section: SectionId;
      readonly layer: LayerId;
      readonly take: TakeId;
      readonly alignment: readonly Alignment[];
      /** What is marked from now on; not given: what was. */
      readonly marks?: readonly TripMark[];
      /** The watch over the round trip found it; not given: the player moved it. */
      readonly by?: 'watch';
    }
  /** Several layers are played by one that was rendered from them. `into` comes with an empty `blendOf`. */
  | {
      readonly type: 'blend';
      readonly section: SectionId;
      readonly layers: readonly LayerId[];
      readonly into: Layer;
    }
  /** The layers of a blend come back where it was. */
  | { readonly type: 'take-apart'; readonly section: SectionId; readonly layer: LayerId }
  /** A loop that was played without a tempo is read as bars. `first`: as it joins the song, together with it. */
  | ({ readonly type: 'read-as'; readonly first: boolean } & LoopReading)
  | { readonly type: 'add-idea'; readonly idea: Idea }
  | { readonly type: 'drop-idea'; readonly idea: IdeaId };

/**
 * Whether an edit is no step of its own for the player: it follows from what was there, and is taken back and put back
 * together with the step before it (see history/steps.ts).
 */
export const isSilent = (edit: Edit): boolean =>
  edit.type === 'set-seam' ||
  (edit.type === 'realign' && edit.by === 'watch') ||
  (edit.type === 'read-as' && edit.first) ||
  (edit.type === 'set-stretches' && edit.settles);

/** Closed list: the words for each live in the user interface. */
export type EditRefusal =
  | 'tempo-out-of-range'
  | 'metre-out-of-range'
  | 'bars-out-of-range'
  | 'count-in-out-of-range'
  | 'gain-out-of-range'
  | 'recede-out-of-range'
  | 'name-empty'
  | 'name-too-long'
  /** A fermata that is on no beat of its bar, shortens it, or goes on for too long; free time of no length, or too long. */
  | 'hold-out-of-range'
  /** Stretches that do not begin one after the other, each at a bar line of the section. */
  | 'stretches-out-of-range'
  /** Only in a section that has a length can something change at a bar line. */
  | 'stretches-need-a-length'
  /** Tempo, metre and length are held by what was played over them. */
  | 'layers-hold-the-grid'
  | 'no-such-section'
  | 'no-such-layer'
  | 'no-such-take'
  | 'no-such-idea'
  /** A blend is of two layers or more. */
  | 'too-few-to-blend'
  /** Layers of unlike lengths come together again only after more bars than a section can have. */
  | 'blend-too-long'
  /** Only a blend can be taken apart. */
  | 'not-a-blend';
