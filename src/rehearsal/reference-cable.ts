/**
 * The reference cable: a spare output is joined to a spare input, a short sequence goes out at every bar line, and what
 * came back of it says where every bar of a pass lies, glitch or not. It is read once a pass is in storage.
 */
import type { ReferenceBar, ReferenceTrack } from '../core/round-trip/reference.js';
import { isCableLost, REFERENCE_TURNS, ReferenceReader, referenceSequence } from '../core/round-trip/reference.js';
import type { ReferenceAlignment } from '../core/round-trip/reference-alignment.js';
import { alignByReference } from '../core/round-trip/reference-alignment.js';
import { probeSignal } from '../core/round-trip/sequence.js';
import type { RecordingId, TakeId } from '../core/song/ids.js';
import type { Frames } from '../core/units/index.js';
import { addFrames, bars, decibels, frames, framesFromSeconds, seconds } from '../core/units/index.js';
import type { PassAlignments, TripMark } from '../core/watch/alignments.js';
import type { KeptReference, Library } from '../ports/library.js';
import type { SoundOpened } from '../ports/sound.js';
import type { Keeping } from './keeping.js';
import type { ReferenceOrder, ReferenceView } from './round-trip-view.js';
import type { SetUpDesk } from './set-up-desk.js';
import type { SoundDesk } from './sound-desk.js';

/** A pass that the reference was sent with. */
export interface ReferencedPass {
  readonly takes: readonly TakeId[];
  readonly recording: RecordingId;
  /** Frames of the recording, below 0 as well, at which its bar lines were mixed: one more than it has bars. */
  readonly lines: readonly Frames[];
  /** The round trip that it was placed with. */
  readonly expected: Frames;
  /** The bar of the first line, counted from where playing began. */
  readonly firstBar: number;
}

export interface ReferenceCablePorts {
  readonly sound: SoundDesk;
  readonly setUp: SetUpDesk;
  readonly library: Library;
  readonly keeping: Keeping;
  /** Where a pass lies is known. */
  readonly found: (takes: readonly TakeId[], found: PassAlignments) => void;
  /** Told once that nothing comes back any more. */
  readonly lost: () => void;
}

/** Far under music, and 40 dB above what a quiet input hears by itself (own choice). */
const LEVEL = decibels(-30);
/** How far a bar may be from where it is expected. Gaps of up to 5,000 frames were seen. */
const REACH_SECONDS = seconds(0.25);
/** Beside it, for the sequence and its surroundings. */
const BEYOND_SECONDS = seconds(0.06);
/** So many bars without it, and the cable is out. */
const LOST_BARS = 3;

interface Waiting {
  readonly pass: ReferencedPass;
  readonly spare: number;
  readonly reach: Frames;
  /** Frames of the recording in which it is looked for. */
  readonly from: Frames;
  readonly to: Frames;
}

export class ReferenceCable {
  readonly #ports: ReferenceCablePorts;
  #opened: SoundOpened | null = null;
  #waiting: readonly Waiting[] = [];
  #reader: { readonly reach: Frames; readonly reader: ReferenceReader } | null = null;
  /** What was read last, a line for every bar. */
  #read: readonly ReferenceBar[] = [];
  #isLost = false;

  constructor(ports: ReferenceCablePorts) {
    this.#ports = ports;
  }

  opened(opened: SoundOpened): void {
    this.#opened = opened;
    this.#begin(false);
  }

  /** The sound is gone: nothing more comes in of what is waited for. */
  closed(): void {
    this.#opened = null;
    this.#arrive(() => true);
  }

  use({ on, side }: ReferenceOrder): void {
    const { setUp, sound } = this.#ports;
    const channel = spareOf(sound.inputChannels, sound.channels);
    setUp.change(({ reference: _before, ...others }) => (on ? { ...others, reference: { side, channel } } : others));
    this.#begin(true);
  }

  /** A pass has become takes, whose audio is on its way to storage. */
  expect(pass: ReferencedPass): void {
    const opened = this.#opened;
    const kept = this.#inUse();
    const [first, last] = [pass.lines[0], pass.lines.at(-1)];
    if (opened === null || kept === null || first === undefined || last === undefined) return;
    const reach = framesFromSeconds(REACH_SECONDS, opened.sampleRate);
    const around = addFrames(reach, framesFromSeconds(BEYOND_SECONDS, opened.sampleRate));
    const from = frames(Math.max(0, first + pass.expected - around));
    const to = frames(last + pass.expected + around);
    this.#waiting = [...this.#waiting, { pass, spare: kept.channel, reach, from, to }];
  }

  /** Frames [0, stored) of a recording are in storage. */
  stored(recording: RecordingId, stored: Frames): void {
    this.#arrive(({ pass, to }) => pass.recording === recording && to <= stored);
  }

  /** Nothing more will come of a recording. */
  ended(recording: RecordingId): void {
    this.#arrive(({ pass }) => pass.recording === recording);
  }

  view({ inputChannels, outputChannels }: SoundOpened): ReferenceView {
    const { sound } = this.#ports;
    const kept = this.#inUse();
    return {
      side: kept?.side ?? null,
      channel: kept?.channel ?? spareOf(inputChannels, sound.channels),
      layout: outputChannels >= 4 ? 'pairs' : 'sides',
      can: inputChannels < 2 ? 'too-few-inputs' : outputChannels < 2 ? 'too-few-outputs' : 'yes',
      isLost: kept !== null && this.#isLost,
    };
  }

  /** What was chosen, where the devices allow it. */
  #inUse(): KeptReference | null {
    const { reference } = this.#ports.setUp.current;
    const opened = this.#opened;
    if (reference === undefined || opened === null || opened.outputChannels < 2) return null;
    return opened.inputChannels > 1 && reference.channel < opened.inputChannels ? reference : null;
  }

  /** @param tell also where there is none: an engine that was just made has none. */
  #begin(tell: boolean): void {
    const { sound } = this.#ports;
    const kept = this.#inUse();
    this.#read = [];
    this.#isLost = false;
    sound.spareChannel(kept?.channel ?? null);
    if (kept !== null) {
      const foldback = kept.side === 'left' ? 'right' : 'left';
      const pairs = (this.#opened?.outputChannels ?? 0) >= 4;
      const routing = pairs
        ? ({ layout: 'pair-and-reference' } as const)
        : ({ layout: 'side-and-reference', foldback } as const);
      sound.send({ type: 'set-routing', routing });
      sound.send({ type: 'set-reference', samples: sequences(), turns: REFERENCE_TURNS });
    } else if (tell) {
      sound.send({ type: 'set-reference', samples: null, turns: 1 });
      sound.send({ type: 'set-routing', routing: { layout: 'pair' } });
    }
  }

  #arrive(has: (waiting: Waiting) => boolean): void {
    const arrived = this.#waiting.filter(has);
    this.#waiting = this.#waiting.filter((each) => !arrived.includes(each));
    for (const waiting of arrived) void this.#look(waiting);
  }

  async #look({ pass, spare, reach, from, to }: Waiting): Promise<void> {
    const { library, keeping, found } = this.#ports;
    await keeping.keptSoFar();
    const audio = await library.readRecording(pass.recording, spare, from, frames(to - from));
    if (!audio.ok) return;
    const read = this.#readTurns({ samples: audio.value.samples, start: from }, pass, reach);
    this.#watch(read.slice(0, -1));
    const alignment = alignByReference(read);
    if (alignment.trips.some(({ sure }) => sure)) found(pass.takes, asFound(alignment));
  }

  /** Bars that were kept after they had been played were counted from another line when they were sent. */
  #readTurns(
    track: ReferenceTrack,
    { lines, expected, firstBar }: ReferencedPass,
    reach: Frames,
  ): readonly ReferenceBar[] {
    const reader = this.#readerFor(reach);
    const meant = ((firstBar % REFERENCE_TURNS) + REFERENCE_TURNS) % REFERENCE_TURNS;
    for (let by = 0; by < REFERENCE_TURNS; by++) {
      const read = reader.read(track, lines, expected, (meant + by) % REFERENCE_TURNS);
      if (read.some(({ roundTrip }) => roundTrip !== null)) return read;
    }
    return lines.map((_, bar) => ({ index: meant + bar, roundTrip: null, prominence: 0 }));
  }

  /** A line for every bar: the last of a pass is the next one's first. */
  #watch(read: readonly ReferenceBar[]): void {
    this.#read = [...this.#read, ...read].slice(-LOST_BARS);
    const isLost = isCableLost(this.#read, LOST_BARS);
    const isNews = isLost && !this.#isLost;
    this.#isLost = isLost;
    if (isNews) this.#ports.lost();
  }

  #readerFor(reach: Frames): ReferenceReader {
    if (this.#reader?.reach !== reach) this.#reader = { reach, reader: new ReferenceReader(reach) };
    return this.#reader.reader;
  }
}

/** The last channel that nothing is played into; of one channel that one. */
function spareOf(channels: number, used: readonly number[]): number {
  const free = Array.from({ length: channels }, (_, channel) => channel).filter((channel) => !used.includes(channel));
  return free.at(-1) ?? channels - 1;
}

/** All that take turns, one after another. */
function sequences(): Float32Array<ArrayBuffer> {
  const each = Array.from({ length: REFERENCE_TURNS }, (_, turn) => probeSignal(referenceSequence(turn), LEVEL));
  const length = each[0]?.length ?? 0;
  const all = new Float32Array(length * REFERENCE_TURNS);
  each.forEach((samples, turn) => {
    all.set(samples, turn * length);
  });
  return all;
}

/** As the watch would say it. Bars in a row without a reference are one mark. */
function asFound({ trips, marks }: ReferenceAlignment): PassAlignments {
  const within = frames(0);
  const told: TripMark[] = [];
  for (const { bar, shift } of marks) {
    const before = told.at(-1);
    if (shift === null && before?.kind === 'cable-lost' && before.lastBar === bar - 1) {
      told[told.length - 1] = { ...before, lastBar: bars(bar) };
    } else {
      const what = shift === null ? ({ kind: 'cable-lost', how: 'unknown' } as const) : MOVED;
      told.push({ bar, lastBar: bar, duringPass: true, shift, within, ...what });
    }
  }
  return { alignments: trips.map((trip) => ({ ...trip, within })), marks: told, proved: true };
}

const MOVED = { kind: 'cable-moved', how: 'exact' } as const;
