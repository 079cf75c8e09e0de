/** What a player asks of the page, as data: elements and keys say it, the page carries it out. */
import type { Reading } from '../core/loop/readings.js';
import type { Metre, NoteValue } from '../core/meter/metre.js';
import type { IdeaId, LayerId } from '../core/song/ids.js';
import type { MeasuringOrder, ReferenceOrder } from '../rehearsal/round-trip-view.js';
import type { Pace } from '../rehearsal/snapshot.js';

export type ThemeName = 'paper' | 'slate';

/** Times are the event's own `timeStamp`, in milliseconds; quantities are within the limits of core/song/limits. */
export type Ask =
  | { readonly type: 'press'; readonly timeStamp: number }
  | { readonly type: 'hear-beat'; readonly timeStamp: number }
  /** `held`: by holding the switch, whose press is taken back with it. */
  | { readonly type: 'stop'; readonly timeStamp: number; readonly held?: boolean }
  | { readonly type: 'take-back'; readonly timeStamp: number }
  | { readonly type: 'put-back' }
  | { readonly type: 'keep-that'; readonly timeStamp: number }
  | { readonly type: 'record-without-tempo'; readonly on: boolean }
  | { readonly type: 'read-as'; readonly reading: Reading }
  | { readonly type: 'drop-idea'; readonly idea: IdeaId }
  | { readonly type: 'tap'; readonly timeStamp: number }
  | { readonly type: 'turn-click' }
  | { readonly type: 'set-tempo'; readonly bpm: number }
  | { readonly type: 'set-metre'; readonly metre: Metre; readonly mark: NoteValue }
  | { readonly type: 'set-count-in'; readonly bars: number | null }
  | { readonly type: 'set-section-bars'; readonly bars: number | null }
  | { readonly type: 'retitle'; readonly title: string }
  | { readonly type: 'rename-layer'; readonly layer: LayerId; readonly name: string }
  | { readonly type: 'leave-out'; readonly layer: LayerId; readonly out: boolean }
  | { readonly type: 'set-layer-gain'; readonly layer: LayerId; readonly gain: number }
  | { readonly type: 'open-sound' }
  | { readonly type: 'use-channel'; readonly channel: number }
  | { readonly type: 'state-round-trip'; readonly ms: number | null }
  | { readonly type: 'measure'; readonly way: MeasuringOrder['way']; readonly level: number }
  | { readonly type: 'check'; readonly way: MeasuringOrder['way'] }
  | { readonly type: 'leave-measuring' }
  | { readonly type: 'use-input'; readonly id: string | null }
  | { readonly type: 'use-output'; readonly id: string | null }
  | { readonly type: 'use-pace'; readonly pace: Pace }
  | { readonly type: 'use-reference'; readonly order: ReferenceOrder }
  /** How much too late it lies from a bar of its take on, from 0: above 0 it will be heard earlier. */
  | { readonly type: 'realign-from'; readonly layer: LayerId; readonly bar: number; readonly ms: number }
  | { readonly type: 'dismiss-notice' }
  | { readonly type: 'choose-theme'; readonly theme: ThemeName };

/** Bubbles out of every shadow root, so that the page hears it wherever it was asked. */
export class AskEvent extends Event {
  static readonly type = 'mh-ask';

  readonly ask: Ask;

  constructor(ask: Ask) {
    super(AskEvent.type, { bubbles: true, composed: true });
    this.ask = ask;
  }
}

declare global {
  interface HTMLElementEventMap {
    'mh-ask': AskEvent;
  }
}
