/**
 * The round trip in use: measured here, kept from an earlier opening of the same devices, or estimated; and its being
 * measured. What was kept is a better guess than the browser's figures, and no more: every opening has its own.
 */
import type { EngineReport, RoundTrip } from '../core/render/commands.js';
import { adviseOn } from '../core/round-trip/device-advice.js';
import type { Measurement } from '../core/round-trip/measurement.js';
import type { Decibels, Frames } from '../core/units/index.js';
import { decibels, frames, nearestFrame, subtractFrames } from '../core/units/index.js';
import type { Advice } from '../core/watch/advice.js';
import type { Clock } from '../ports/clock.js';
import type { KeptRoundTrip, SetUp } from '../ports/library.js';
import type { SoundOpened } from '../ports/sound.js';
import type { MeasuringDone } from './measuring.js';
import type { MeasuringOrder, MeasuringRefusal } from './round-trip-view.js';
import { Measuring } from './measuring.js';
import { TwoClocks } from './two-clocks.js';
import type { RoundTripOutcome, RoundTripView } from './round-trip-view.js';
import type { SetUpDesk } from './set-up-desk.js';
import { deviceMilliseconds, type SoundDesk } from './sound-desk.js';

/** Quiet: what is left of it in a headphone held to a microphone is found all the same. Own choice. */
const FIRST_LEVEL = decibels(-36);
const TO_THE_FRAME = frames(0);
/** As loud as music may be, and no louder. */
const LOUDEST = decibels(-12);
/** So many ways are remembered. */
const MOST_KEPT = 24;

export interface RoundTripPorts {
  readonly sound: SoundDesk;
  readonly setUp: SetUpDesk;
  readonly clock: Clock;
  /** Told of a round trip that was found: capture frames between which it held. */
  readonly found: (from: Frames, to: Frames, roundTrip: Frames, how: 'cable' | 'measured') => void;
  /** How often it stepped since the sound was opened, and what is to be done. */
  readonly steps: () => number;
  readonly advice: () => Advice;
  readonly changed: () => void;
}

interface Known {
  readonly trip: RoundTrip;
  readonly at: string;
  readonly isFresh: boolean;
  /** Good to so many frames either way, where it is sure. */
  readonly within: Frames;
}

export class RoundTripDesk {
  readonly #ports: RoundTripPorts;
  #measuring: Measuring | null = null;
  #opened: SoundOpened | null = null;
  #known: Known | null = null;
  #outcome: RoundTripOutcome | null = null;
  #level: Decibels = FIRST_LEVEL;
  /** The way that sound went last. */
  #way: Way | null = null;
  #clocks: TwoClocks | null = null;

  constructor(ports: RoundTripPorts) {
    this.#ports = ports;
  }

  /** Two clocks: whether the round trip is known to change all the time, and passes lie to the millisecond only. */
  get isDrifting(): boolean {
    return this.#clocks?.isDrifting ?? false;
  }

  /** The round trip at a capture frame, as far as it is known. */
  tripAt(frame: Frames): Frames {
    return this.#clocks?.roundTripAt(frame) ?? this.#ports.sound.roundTrip.frames;
  }

  get isMeasuring(): boolean {
    return this.#measuring?.isGoing ?? false;
  }

  /** The sound is open. */
  opened(opened: SoundOpened): void {
    this.#opened = opened;
    this.#outcome = null;
    this.#clocks = TwoClocks.of(opened);
    this.#startOver(wayOf(opened));
    this.#measuring = new Measuring({
      sound: this.#ports.sound,
      rate: opened.sampleRate,
      changed: this.#ports.changed,
      done: (done) => {
        this.#onDone(done);
      },
    });
    const kept = this.#ports.setUp.current.roundTrips.find((each) => isOfThisWay(each, opened));
    if (kept === undefined) return this.#use(null);
    this.#use({
      trip: { frames: kept.frames, how: kept.how, sure: false },
      at: kept.at,
      isFresh: false,
      within: TO_THE_FRAME,
    });
  }

  /** What was said of other devices, or dared with them, says nothing of these. */
  #startOver(way: Way): void {
    if (this.#way !== null && !isSameWay(this.#way, way)) {
      this.#ports.sound.stateRoundTrip(null);
      this.#level = FIRST_LEVEL;
    }
    this.#way = way;
  }

  /** The sound is gone, and its round trip with it. */
  closed(): void {
    this.#measuring?.end('sound-gone');
    this.#measuring = null;
    this.#opened = null;
    this.#known = null;
    this.#clocks = null;
  }

  measure(order: MeasuringOrder, heard: Frames): void {
    this.#level = decibels(Math.min(LOUDEST, order.level));
    this.#outcome = null;
    this.#measuring?.order({ ...order, level: this.#level }, heard);
  }

  check(way: MeasuringOrder['way'], heard: Frames): void {
    this.#outcome = null;
    this.#measuring?.order({ kind: 'check', way, level: this.#level }, heard);
  }

  /** Something is to be played: what has waited for the sound to settle waits no longer. */
  interrupt(): void {
    this.#measuring?.interrupt();
  }

  leave(): void {
    this.#measuring?.end('stopped');
  }

  hear(report: EngineReport): void {
    this.#measuring?.hear(report);
  }

  /** Time has passed. @returns whether the view changes with time just now. */
  look(heard: Frames): boolean {
    this.#measuring?.look(heard);
    this.#followLine(heard);
    return this.isMeasuring;
  }

  /** What the watch says holds now: moved by so much, or doubted. */
  hold(trip: RoundTrip, within: Frames): void {
    const known = this.#known;
    if (
      this.isDrifting ||
      known?.isFresh !== true ||
      (trip.frames === known.trip.frames && trip.sure === known.trip.sure && within === known.within)
    )
      return;
    this.#use({ ...known, trip, within });
  }

  /** Null until the sound is open. */
  view(heard: Frames): Omit<RoundTripView, 'reference'> | null {
    const opened = this.#opened;
    if (opened === null) return null;
    const { frames: length, how, sure } = this.#ports.sound.roundTrip;
    const known = how === 'cable' || how === 'measured' ? this.#known : null;
    return {
      frames: length,
      ms: deviceMilliseconds(length, opened.lookAhead, opened.sampleRate),
      how,
      sure,
      within: known?.within ?? TO_THE_FRAME,
      measuredAt: known?.at ?? null,
      isFresh: known?.isFresh ?? false,
      measuring: this.#measuring?.view(heard) ?? null,
      outcome: this.#outcome,
      advice: this.#ports.advice(),
      device: adviseOn(
        {
          roundTrip: length,
          explained: opened.estimatedRoundTrip,
          steps: this.#ports.steps(),
          names: [opened.inputName, opened.outputName],
        },
        opened.sampleRate,
      ),
      clocks: this.#clocks?.view ?? null,
      level: this.#level,
    };
  }

  /** Two clocks: the round trip is another one all the time, good to the millisecond. */
  #followLine(heard: Frames): void {
    const now = this.#clocks?.roundTripAt(heard) ?? null;
    const known = this.#known;
    if (now === null || known === null || now === known.trip.frames) return;
    this.#use({ ...known, trip: { ...known.trip, frames: now, sure: false } });
  }

  #use(known: Known | null): void {
    this.#known = known;
    this.#ports.sound.useMeasured(known?.trip ?? null);
  }

  #onDone({ order, from, to, result }: MeasuringDone): void {
    const opened = this.#opened;
    if (opened === null) return;
    if (!result.ok && this.#driftedTo(opened, result.reason, order, from, to)) return;
    if (!result.ok) {
      this.#outcome = { type: 'refused', kind: order.kind, why: result.reason };
      return;
    }
    const how = order.way === 'cable' ? 'cable' : 'measured';
    if (order.kind === 'check') return this.#onChecked(opened, result.value, how, from, to);
    this.#ports.sound.stateRoundTrip(null);
    this.#outcome = this.#measured(opened, result.value);
    this.#take(opened, result.value.frames, how, from, to);
  }

  /** One shot confirms what was measured, or says how far that has moved; it is no measurement by itself. */
  #onChecked(opened: SoundOpened, found: Measurement, how: 'cable' | 'measured', from: Frames, to: Frames): void {
    const before = this.#ports.sound.roundTrip;
    const movedBy = subtractFrames(found.frames, before.frames);
    const isUsed = before.how === 'cable' || before.how === 'measured';
    const ms = deviceMilliseconds(found.frames, opened.lookAhead, opened.sampleRate);
    this.#outcome = { type: 'checked', movedBy, ms, isUsed };
    if (!isUsed) return;
    if (movedBy === 0 || this.#known?.isFresh === true) return this.#take(opened, found.frames, how, from, to);
    const trip = { frames: found.frames, how, sure: false };
    this.#use({ trip, at: this.#ports.clock.today(), isFresh: false, within: TO_THE_FRAME });
  }

  /** It is known from now on, and kept for the next time these devices are opened. */
  #take(opened: SoundOpened, length: Frames, how: 'cable' | 'measured', from: Frames, to: Frames): void {
    const at = this.#ports.clock.today();
    this.#clocks?.measured(length, to, this.#ports.steps(), false);
    this.#use({ trip: { frames: length, how, sure: !this.isDrifting }, at, isFresh: true, within: TO_THE_FRAME });
    this.#keep({ ...wayOf(opened), frames: length, how, at });
    this.#ports.found(from, to, length, how);
  }

  /** Two clocks move apart while they are measured: what does not agree to the frame may yet be good to the millisecond. */
  #driftedTo(opened: SoundOpened, why: MeasuringRefusal, { way }: MeasuringOrder, from: Frames, to: Frames): boolean {
    if (why.type !== 'disagree' || this.#clocks === null) return false;
    const length = this.#clocks.middleOf(why.values, from, to);
    if (length === null) return false;
    const middle = nearestFrame((from + to) / 2);
    this.#ports.sound.stateRoundTrip(null);
    this.#clocks.measured(length, middle, this.#ports.steps(), true);
    const how = way === 'cable' ? 'cable' : 'measured';
    this.#use({
      trip: { frames: length, how, sure: false },
      at: this.#ports.clock.today(),
      isFresh: true,
      within: TO_THE_FRAME,
    });
    const ms = deviceMilliseconds(length, opened.lookAhead, opened.sampleRate);
    this.#outcome = { type: 'drifted', ms, isKnown: this.#clocks.view !== null };
    return true;
  }

  #measured(opened: SoundOpened, { frames: length, prominence, level, sign }: Measurement): RoundTripOutcome {
    const ms = deviceMilliseconds(length, opened.lookAhead, opened.sampleRate);
    return { type: 'measured', frames: length, ms, prominence, level, inverted: sign < 0 };
  }

  #keep(kept: KeptRoundTrip): void {
    this.#ports.setUp.change((setUp: SetUp) => ({
      ...setUp,
      roundTrips: [kept, ...setUp.roundTrips.filter((each) => !isSameWay(each, kept))].slice(0, MOST_KEPT),
    }));
  }
}

type Way = Pick<KeptRoundTrip, 'inputId' | 'outputId' | 'sampleRate' | 'pace'>;

const wayOf = ({ inputId, outputId, sampleRate, pace }: SoundOpened): Way => ({ inputId, outputId, sampleRate, pace });

const isSameWay = (a: Way, b: Way): boolean =>
  a.inputId === b.inputId && a.outputId === b.outputId && a.sampleRate === b.sampleRate && a.pace === b.pace;

const isOfThisWay = (kept: KeptRoundTrip, opened: SoundOpened): boolean => isSameWay(kept, wayOf(opened));
