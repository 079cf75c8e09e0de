/** A rehearsal that plays nothing: it publishes the snapshots it is given and writes down what it was asked. */
import type { Milliseconds } from '../../../src/core/units/index.js';
import type { RehearsalIntents } from '../../../src/rehearsal/intents.js';
import type { Position, Snapshot } from '../../../src/rehearsal/snapshot.js';

type Intent = Exclude<keyof RehearsalIntents, 'snapshot' | 'subscribe' | 'position'>;

export type Call = readonly [intent: Intent, ...given: unknown[]];

export const NOWHERE: Position = { through: null, bar: null, barPhase: 0, beat: 0, beatPhase: 0, inputPeak: null };

export class FakeRehearsal implements RehearsalIntents {
  /** What it was asked, in order. */
  readonly calls: Call[] = [];
  /** What `position` answers. */
  where: (now: Milliseconds) => Position = () => NOWHERE;
  readonly #listeners = new Set<(snapshot: Snapshot) => void>();
  #snapshot: Snapshot;

  readonly press = this.#writer('press');
  readonly hearBeat = this.#writer('hearBeat');
  readonly stop = this.#writer('stop');
  readonly takeBack = this.#writer('takeBack');
  readonly putBack = this.#writer('putBack');
  readonly tap = this.#writer('tap');
  readonly setTempo = this.#writer('setTempo');
  readonly setMetre = this.#writer('setMetre');
  readonly setCountIn = this.#writer('setCountIn');
  readonly setClick = this.#writer('setClick');
  readonly setSectionBars = this.#writer('setSectionBars');
  readonly setStretches = this.#writer('setStretches');
  readonly setPassBars = this.#writer('setPassBars');
  readonly setPressRules = this.#writer('setPressRules');
  readonly retitle = this.#writer('retitle');
  readonly renameLayer = this.#writer('renameLayer');
  readonly leaveOut = this.#writer('leaveOut');
  readonly setLayerGain = this.#writer('setLayerGain');
  readonly chooseSeam = this.#writer('chooseSeam');
  readonly useTake = this.#writer('useTake');
  readonly setRecede = this.#writer('setRecede');
  readonly blend = this.#writer('blend');
  readonly takeApart = this.#writer('takeApart');
  readonly anotherTake = this.#writer('anotherTake');
  readonly keepLayering = this.#writer('keepLayering');
  readonly recordWithoutTempo = this.#writer('recordWithoutTempo');
  readonly readAs = this.#writer('readAs');
  readonly keepThat = this.#writer('keepThat');
  readonly dropIdea = this.#writer('dropIdea');
  readonly openSound = this.#writer('openSound');
  readonly useChannel = this.#writer('useChannel');
  readonly useChannels = this.#writer('useChannels');
  readonly stateRoundTrip = this.#writer('stateRoundTrip');
  readonly measureRoundTrip = this.#writer('measureRoundTrip');
  readonly checkRoundTrip = this.#writer('checkRoundTrip');
  readonly leaveMeasuring = this.#writer('leaveMeasuring');
  readonly useInput = this.#writer('useInput');
  readonly useOutput = this.#writer('useOutput');
  readonly usePace = this.#writer('usePace');
  readonly useReference = this.#writer('useReference');
  readonly realignFrom = this.#writer('realignFrom');
  readonly leaveMark = this.#writer('leaveMark');
  readonly dismissNotice = this.#writer('dismissNotice');

  constructor(snapshot: Snapshot) {
    this.#snapshot = snapshot;
  }

  get snapshot(): Snapshot {
    return this.#snapshot;
  }

  publish(snapshot: Snapshot): void {
    this.#snapshot = snapshot;
    for (const listener of this.#listeners) listener(snapshot);
  }

  subscribe(listener: (snapshot: Snapshot) => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  position(now: Milliseconds): Position {
    return this.where(now);
  }

  /** The listeners that are still there. */
  get listening(): number {
    return this.#listeners.size;
  }

  #writer(intent: Intent): (...given: unknown[]) => void {
    return (...given) => this.calls.push([intent, ...given]);
  }
}
