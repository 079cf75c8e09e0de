/** Edits as data: what a player does to a song, each with the reasons for which it can be refused. */
import type { Metre, NoteValue } from '../meter/metre.js';
import type { Bars, Bpm, Decibels } from '../units/index.js';
import type { LayerId, SectionId } from './ids.js';
import type { Layer } from './song.js';

export type Edit =
  | { readonly type: 'retitle'; readonly title: string }
  | { readonly type: 'set-tempo'; readonly bpm: Bpm }
  | { readonly type: 'set-metre'; readonly metre: Metre; readonly mark: NoteValue }
  | { readonly type: 'set-count-in'; readonly bars: Bars | null }
  | { readonly type: 'set-click'; readonly on: boolean }
  | { readonly type: 'set-section-bars'; readonly section: SectionId; readonly bars: Bars | null }
  | {
      readonly type: 'add-layer';
      readonly section: SectionId;
      readonly layer: Layer;
      /** Gives an open section its length: that of its first pass. */
      readonly sectionBars: Bars;
    }
  | { readonly type: 'rename-layer'; readonly section: SectionId; readonly layer: LayerId; readonly name: string }
  | { readonly type: 'leave-out'; readonly section: SectionId; readonly layer: LayerId; readonly out: boolean }
  | { readonly type: 'set-layer-gain'; readonly section: SectionId; readonly layer: LayerId; readonly gain: Decibels };

/** Closed list: the words for each live in the user interface. */
export type EditRefusal =
  | 'tempo-out-of-range'
  | 'metre-out-of-range'
  | 'bars-out-of-range'
  | 'count-in-out-of-range'
  | 'gain-out-of-range'
  | 'name-empty'
  | 'name-too-long'
  /** Tempo, metre and length are held by what was played over them. */
  | 'layers-hold-the-grid'
  | 'no-such-section'
  | 'no-such-layer';
