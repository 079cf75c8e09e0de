/** What a player can ask for. Every method is synchronous to call; what becomes of it is seen in the snapshots. */
import type { Metre, NoteValue } from '../core/meter/metre.js';
import type { PressRules } from '../core/meter/presses.js';
import type { SeamKind } from '../core/seam/seam.js';
import type { Reading } from '../core/loop/readings.js';
import type { IdeaId, LayerId, SectionId, TakeId } from '../core/song/ids.js';
import type { SectionStretch } from '../core/song/section-stretch.js';
import type { Bars, Bpm, Decibels, Milliseconds } from '../core/units/index.js';
import type { TripMark } from '../core/watch/alignments.js';
import type { MeasuringOrder, ReferenceOrder } from './round-trip-view.js';
import type { Pace, Position, Snapshot } from './snapshot.js';

export interface RehearsalIntents {
  /** The one switch: see SwitchMeaning. `timeStamp` is the event's own. Opens the sound first where it is asleep. */
  press(timeStamp: Milliseconds): void;
  /** Plays the loop, or the click alone, without recording: to hear the tempo, or to play over a beat that goes on. */
  hearBeat(timeStamp: Milliseconds): void;
  /**
   * Stops, and lets a closing fade of 10 ms pass. What was being played is kept: as a layer where it had come to its line,
   * else as an idea. `held`: the switch was held down, so that what its press began was not meant.
   */
  stop(timeStamp: Milliseconds, held?: boolean): void;
  /** Takes back a running pass and those after it if there is one, else the last edit. */
  takeBack(timeStamp: Milliseconds): void;
  putBack(): void;
  tap(timeStamp: Milliseconds): void;
  setTempo(bpm: Bpm): void;
  setMetre(metre: Metre, mark: NoteValue): void;
  setCountIn(bars: Bars | null): void;
  setClick(on: boolean): void;
  setSectionBars(section: SectionId, bars: Bars | null): void;
  /** All that changes at the bar lines of a section; none: the song's tempo and metre throughout. */
  setStretches(section: SectionId, stretches: readonly SectionStretch[]): void;
  /** Length of the next passes, in whole bars; null: that of the section, and open where that is. */
  setPassBars(bars: Bars | null): void;
  setPressRules(rules: PressRules): void;
  retitle(title: string): void;
  renameLayer(section: SectionId, layer: LayerId, name: string): void;
  leaveOut(section: SectionId, layer: LayerId, out: boolean): void;
  setLayerGain(section: SectionId, layer: LayerId, gain: Decibels): void;
  /** What the seam of a layer's take in use should be: null for what is heard; `pickup` for notes before the first line. */
  chooseSeam(section: SectionId, layer: LayerId, chosen: SeamKind | null, pickup: boolean): void;
  useTake(section: SectionId, layer: LayerId, take: TakeId): void;
  /** Decibels that every layer but the first loses for each layer after it; 0 or more. */
  setRecede(section: SectionId, recede: Decibels): void;
  /** Renders layers into one, which takes their place. They are kept in it. */
  blend(section: SectionId, layers: readonly LayerId[]): void;
  takeApart(section: SectionId, layer: LayerId): void;
  /** The next passes become other takes of a layer, until this is null again. */
  anotherTake(section: SectionId, layer: LayerId | null): void;
  /** Whether every pass is followed by another. */
  keepLayering(on: boolean): void;
  /** Whether the first pass records at once, without count-in, tempo or bars, and the tempo is found from it. */
  recordWithoutTempo(on: boolean): void;
  /** The loop that was played so is other bars: one of the snapshot's readings. Nothing moves in the sound. */
  readAs(reading: Reading): void;
  /** Keeps what was just played, although nothing was being recorded: the last bars, or an idea where nothing plays. */
  keepThat(timeStamp: Milliseconds): void;
  dropIdea(idea: IdeaId): void;
  openSound(): void;
  /** Input channel for the next passes, from 0. */
  useChannel(channel: number): void;
  /** The same for several at once: each pass fills a layer for each. */
  useChannels(channels: readonly number[]): void;
  /** Null goes back to the estimate. */
  stateRoundTrip(ms: Milliseconds | null): void;
  /** Sends the probe and looks for it in what comes back; the settling comes first. */
  measureRoundTrip(order: MeasuringOrder): void;
  /** The same once, in a second: whether the round trip is still what it is taken for. */
  checkRoundTrip(way: MeasuringOrder['way']): void;
  /** Lets a measurement or a check be; the round trip stays what it was. */
  leaveMeasuring(): void;
  /** Null: the system's default. Opens the sound anew where it is open. */
  useInput(id: string | null): void;
  /** Null: the system's default. Opens the sound anew where it is open. */
  useOutput(id: string | null): void;
  usePace(pace: Pace): void;
  /** Whether a spare output, joined to a spare input, tells where every bar lies; kept for this machine. Once sound is open. */
  useReference(order: ReferenceOrder): void;
  /** From a bar of the take in use on, from its 0, it lies so much too late (below 0: too early), and is put right. */
  realignFrom(section: SectionId, layer: LayerId, bar: Bars, shift: Milliseconds): void;
  /** What is marked there stays as it is, and is marked no more. `mark` as it stands in the take in use. */
  leaveMark(section: SectionId, layer: LayerId, mark: TripMark): void;
  dismissNotice(): void;

  readonly snapshot: Snapshot;
  /** @returns a function that ends the subscription. */
  subscribe(listener: (snapshot: Snapshot) => void): () => void;
  /** Read once an animation frame; publishes a new snapshot where a bar line or a state was passed. */
  position(now: Milliseconds): Position;
}
