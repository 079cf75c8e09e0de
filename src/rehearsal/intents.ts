/** What a player can ask for. Every method is synchronous to call; what becomes of it is seen in the snapshots. */
import type { Metre, NoteValue } from '../core/meter/metre.js';
import type { LayerId, SectionId } from '../core/song/ids.js';
import type { Bars, Bpm, Decibels, Milliseconds } from '../core/units/index.js';
import type { Position, Snapshot } from './snapshot.js';

export interface RehearsalIntents {
  /** The one switch: see SwitchMeaning. `timeStamp` is the event's own. Opens the sound first where it is asleep. */
  press(timeStamp: Milliseconds): void;
  /** Plays the loop, or the click alone, without recording: to hear the tempo, or to play over a beat that goes on. */
  hearBeat(timeStamp: Milliseconds): void;
  /** Held, or Escape: stops, and lets a closing fade of 10 ms pass. */
  stop(timeStamp: Milliseconds): void;
  /** Takes back a running pass if there is one, else the last edit. */
  takeBack(timeStamp: Milliseconds): void;
  putBack(): void;
  tap(timeStamp: Milliseconds): void;
  setTempo(bpm: Bpm): void;
  setMetre(metre: Metre, mark: NoteValue): void;
  setCountIn(bars: Bars | null): void;
  setClick(on: boolean): void;
  setSectionBars(section: SectionId, bars: Bars | null): void;
  retitle(title: string): void;
  renameLayer(section: SectionId, layer: LayerId, name: string): void;
  leaveOut(section: SectionId, layer: LayerId, out: boolean): void;
  setLayerGain(section: SectionId, layer: LayerId, gain: Decibels): void;
  openSound(): void;
  /** Input channel for the next passes, from 0. */
  useChannel(channel: number): void;
  /** Null goes back to the estimate. */
  stateRoundTrip(ms: Milliseconds | null): void;
  dismissNotice(): void;

  readonly snapshot: Snapshot;
  /** @returns a function that ends the subscription. */
  subscribe(listener: (snapshot: Snapshot) => void): () => void;
  /** Read once an animation frame; publishes a new snapshot where a bar line or a state was passed. */
  position(now: Milliseconds): Position;
}
