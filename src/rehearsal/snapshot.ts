/**
 * What the rehearsal publishes: one frozen snapshot a change, complete enough to draw every page from. Words for the
 * closed lists live in ui.
 */
import type { PressRuleRefusal, PressRules } from '../core/meter/presses.js';
import type { EditRefusal } from '../core/song/edits.js';
import type { Edit } from '../core/song/edits.js';
import type { LayerId, SectionId } from '../core/song/ids.js';
import type { RoundTripSource, Song } from '../core/song/song.js';
import type { TransportState } from '../core/transport/states.js';
import type { Bars, Bpm, Frames, Milliseconds, SampleRate } from '../core/units/index.js';
import type { SetUp, StorageRefusal } from '../ports/library.js';
import type { SoundChange, SoundDevices, SoundInterruption, SoundRefusal } from '../ports/sound.js';
import type { Ink } from '../core/chart/ink.js';
import type { LoopReadings } from './loop-readings.js';
import type { RoundTripView } from './round-trip-view.js';
import type { SoundHealth } from './sound-health.js';

export type { Pace, SoundChange, SoundDevice, SoundDevices } from '../ports/sound.js';

/** Which devices, and how long a buffer. */
export type SoundChoice = Pick<SetUp, 'inputId' | 'outputId' | 'pace'>;

/** The input and output as they stand. */
export type SoundView =
  | { readonly state: 'asleep' }
  | { readonly state: 'opening' }
  | { readonly state: 'refused'; readonly reason: SoundRefusal }
  | {
      readonly state: 'open';
      readonly inputName: string;
      readonly inputChannels: number;
      readonly sampleRate: SampleRate;
      readonly roundTrip: { readonly frames: Frames; readonly ms: Milliseconds; readonly how: RoundTripSource };
      /** Voice processing that the browser would not turn off. */
      readonly processing: readonly ('echo cancellation' | 'noise suppression' | 'gain control')[];
      readonly interruption: SoundInterruption | null;
    };

/** Whether what is done is kept. */
export type KeepingView =
  | { readonly state: 'kept' }
  /** More is waiting to be written than usual. */
  | { readonly state: 'saving' }
  /** Works on, and nothing will be there after a reload. */
  | { readonly state: 'not-kept'; readonly reason: StorageRefusal };

/** What comes next, if nobody does anything. */
export type Next =
  | 'nothing'
  | 'recording-starts'
  /** Open length: goes on until a press. */
  | 'recording-goes-on'
  /** The same, and it is nearly as long as it can be: it closes by itself. */
  | 'closes-by-itself'
  /** Without a tempo: goes on until it is pressed where the loop begins anew. */
  | 'free-goes-on'
  /** Without a tempo: the end is being looked for, and then the loop plays. */
  | 'end-is-found'
  | 'closing-at-the-line'
  | 'loop-plays'
  | 'goes-round-again'
  | 'layering-starts'
  | 'plays-on';

/** What the one switch would do now. */
export type SwitchMeaning =
  | 'record'
  | 'record-freely'
  | 'play'
  | 'take-it-back'
  | 'new-layer'
  | 'close-the-loop'
  | 'go-round-again'
  | 'do-not-go-round';

export interface TransportView {
  readonly state: TransportState;
  /** The bar being heard, from 1: of the count-in, of the open pass, or of the loop. Null when stopped. */
  readonly bar: number | null;
  /** Of how many; null while the length is open. */
  readonly bars: number | null;
  /** Name of the layer a pass is filling, or will. */
  readonly layerName: string | null;
  readonly next: Next;
  readonly pressMeans: SwitchMeaning;
}

export interface TapView {
  readonly taps: number;
  /** Null until there are enough taps for a reading. */
  readonly bpm: Bpm | null;
  /** Half the width of the 95 % interval, in beats a minute. */
  readonly spread: number | null;
  /** The tempo if the taps were the other note of the metre: eighths instead of beats, or the other way round. */
  readonly other: Bpm | null;
}

/** Why a setting of the rehearsal stays as it was. */
export type SettingRefusal = PressRuleRefusal | 'pass-bars-out-of-range';

/** Why "keep that" kept nothing. */
export type NothingToKeep =
  | 'not-listening'
  | 'nothing-heard'
  | 'no-whole-bar'
  /** It was too long ago. */
  | 'not-in-the-ring'
  | 'still-recording'
  | 'kept-already';

/** Something to be told once, in words, until the next thing happens. */
export type Notice =
  | { readonly type: 'edit-refused'; readonly reason: EditRefusal }
  | { readonly type: 'setting-refused'; readonly reason: SettingRefusal }
  | { readonly type: 'storage-refused'; readonly reason: StorageRefusal }
  /** Tempo, metre and length stay as they are while something is being recorded or played. */
  | { readonly type: 'stop-first' }
  /** Another device or pace opens the sound anew: not while something plays. */
  | { readonly type: 'stop-for-devices' }
  | { readonly type: 'pass-dropped' }
  | { readonly type: 'taken-back'; readonly edit: Edit }
  | { readonly type: 'put-back'; readonly edit: Edit }
  | { readonly type: 'layer-kept'; readonly name: string; readonly bars: number }
  /** One pass filled several. */
  | { readonly type: 'layers-kept'; readonly names: readonly string[]; readonly bars: number }
  /** A pass became another take of a layer. */
  | { readonly type: 'take-kept'; readonly name: string; readonly bars: number }
  /** A loop that was played without a tempo was read. Unsure: its end lies where it was pressed. */
  | {
      readonly type: 'loop-read';
      readonly name: string;
      readonly bars: number;
      readonly bpm: Bpm;
      readonly sure: boolean;
    }
  /** A loop that was played without a tempo is too short or too long for any bars: it was kept as an idea. */
  | { readonly type: 'no-reading' }
  /** What nobody was recording is a layer; with how many bars of the past are held, where that is few. */
  | {
      readonly type: 'that-kept';
      readonly name: string;
      readonly bars: number;
      /** Whole bars before them that were played too, and would not go round with the loop. */
      readonly leftOut: number;
      readonly heldBars: number | null;
    }
  | { readonly type: 'idea-kept'; readonly seconds: number }
  /** Playing ended before the pass had come to its line: it is an idea. */
  | { readonly type: 'cut-kept'; readonly seconds: number }
  /** A layer lies where it was played, now that the round trip is known better: so much earlier; less than 0 for later. */
  | { readonly type: 'take-moved'; readonly name: string; readonly ms: number }
  /** Nothing comes back through the reference cable any more. */
  | { readonly type: 'cable-lost' }
  | { readonly type: 'nothing-to-keep'; readonly why: NothingToKeep }
  | { readonly type: 'sound-missing'; readonly layer: string }
  /** Storage was so slow that input was lost: the pass has a hole. */
  | { readonly type: 'input-lost' }
  /** No memory was left to play what is being recorded; it is kept all the same. */
  | { readonly type: 'memory-full' };

export interface LayerView {
  readonly section: SectionId;
  readonly layer: LayerId;
  /** Onsets and decay over the section, drawn once. Null while it is being read. */
  readonly ink: Ink | null;
}

/** What was asked of the next passes. */
export interface PassesView {
  /** Input channels, from 0: a layer for each. */
  readonly channels: readonly number[];
  readonly keepLayering: boolean;
  /** Length of a pass; null: that of the section, and open where that is. */
  readonly bars: Bars | null;
  readonly presses: PressRules;
  /** The layer that they are other takes of; null where they become new layers. */
  readonly anotherTakeOf: LayerId | null;
}

export interface Snapshot {
  readonly song: Song;
  readonly sectionInHand: SectionId;
  readonly sound: SoundView;
  readonly health: SoundHealth;
  /** What was chosen for the next opening. */
  readonly choice: SoundChoice;
  /** What can be chosen; null until the sound was opened. */
  readonly devices: SoundDevices | null;
  /** What has changed last round the sound, while it went on. */
  readonly change: SoundChange | null;
  /** Null until the sound is open. */
  readonly trip: RoundTripView | null;
  readonly keeping: KeepingView;
  readonly transport: TransportView;
  readonly passes: PassesView;
  readonly taps: TapView | null;
  /** Whether the first pass records without count-in, tempo or bars. */
  readonly isFree: boolean;
  /** How a loop that was played so is read, and how else it can be; null where there is none, or it is held. */
  readonly readings: LoopReadings | null;
  readonly notice: Notice | null;
  readonly canTakeBack: Edit | null;
  readonly canPutBack: Edit | null;
  readonly layers: readonly LayerView[];
  /** Ink of the pass that is running, growing; null when none is. */
  readonly passInk: Ink | null;
  /** What sounds: rounded to whole frames a bar. */
  readonly soundingBpm: Bpm;
}

/** Where we are, for one frame of the screen. All as heard. */
export interface Position {
  /** 0 … 1 through the loop (or through the open pass's last started bar group); null when stopped or counting in. */
  readonly through: number | null;
  /** Bar of the loop from 0 and the part of it that has passed; null when stopped. */
  readonly bar: number | null;
  readonly barPhase: number;
  /** Felt beat of the bar from 0, and the part of it that has passed. */
  readonly beat: number;
  readonly beatPhase: number;
  /** Peak of the input since the last frame, linear; null when the input is not open. */
  readonly inputPeak: number | null;
}
