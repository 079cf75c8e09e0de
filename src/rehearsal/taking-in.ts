/**
 * What the engine records, as recordings that are journalled and takes that are made of their passes. It turns reports
 * into takes and writes; the rehearsal decides what to do with them.
 */
import type { InkBuilder } from '../core/chart/ink-from-audio.js';
import { bodyPlace } from '../core/program/body-place.js';
import type { ProgramGrid } from '../core/program/program-grid.js';
import type { EngineReport } from '../core/render/commands.js';
import { LONGEST_TAIL_SECONDS } from '../core/listen/longest-tail.js';
import type { RecordingId, SongId, TakeId } from '../core/song/ids.js';
import { asId } from '../core/song/ids.js';
import type { Take } from '../core/song/song.js';
import type { Frames, SampleRate } from '../core/units/index.js';
import { bars, frames, framesFromSeconds, seconds } from '../core/units/index.js';
import type { Clock } from '../ports/clock.js';
import type { Ids } from '../ports/ids.js';
import type { Library } from '../ports/library.js';
import type { EngineHandles } from './handles.js';
import { RecordingJournal } from './journal.js';
import type { Keeping } from './keeping.js';
import type { Extent } from './open-passes.js';

type Report<Type extends EngineReport['type']> = Extract<EngineReport, { type: Type }>;

interface Incoming {
  readonly journal: RecordingJournal;
  /** Engine capture frame of the recording's first frame. */
  readonly at: Frames;
  /** Frames that have come in. */
  frames: number;
}

/** A pass whose ink grows while it comes in. */
interface GrowingInk {
  readonly builder: InkBuilder;
  /** Capture frame from which the builder is fed. */
  readonly from: number;
  fed: number;
}

export interface TakingInPorts {
  readonly library: Library;
  readonly keeping: Keeping;
  readonly ids: Ids;
  readonly clock: Clock;
  /** Told that frames [0, frames) of what the engine records are in storage. */
  readonly stored: (audio: number, frames: Frames) => void;
}

export class TakingIn {
  readonly #ports: TakingInPorts;
  readonly #song: SongId;
  readonly #rate: SampleRate;
  readonly #handles: EngineHandles;
  readonly #incoming = new Map<number, Incoming>();
  #ink: GrowingInk | null = null;

  constructor(ports: TakingInPorts, song: SongId, rate: SampleRate, handles: EngineHandles) {
    this.#ports = ports;
    this.#song = song;
    this.#rate = rate;
    this.#handles = handles;
  }

  started(report: Report<'recording-started'>): void {
    const { library, keeping, ids, clock, stored } = this.#ports;
    const id = asId<RecordingId>(ids.fresh());
    const header = {
      id,
      song: this.#song,
      sampleRate: this.#rate,
      channels: report.channels,
      startedAt: clock.today(),
    };
    keeping.enqueue(() => library.beginRecording(header));
    this.#handles.nameRecording(report.audio, id);
    const journal = new RecordingJournal(id, report.channels, this.#rate, library, keeping, (frames) => {
      stored(report.audio, frames);
    });
    this.#incoming.set(report.audio, { journal, at: report.at, frames: 0 });
  }

  captured(report: Report<'captured'>, inkChannel: number): void {
    const incoming = this.#incoming.get(report.audio);
    if (incoming === undefined) return;
    const count = report.frames;
    incoming.journal.add(report.start, report.buffer, count);
    incoming.frames = report.start + count;
    const channel = Math.min(inkChannel, report.channels - 1);
    this.#feedInk(report.buffer.subarray(channel * count, (channel + 1) * count), incoming.at + report.start);
  }

  ended(report: Report<'recording-ended'>): void {
    this.#incoming.get(report.audio)?.journal.finish(report.frames);
    this.#incoming.delete(report.audio);
  }

  /** What has come in of a recording that goes on. */
  extentOf(audio: number): Extent | undefined {
    return this.#incoming.get(audio);
  }

  /** The engine is gone: its recordings end where they are. */
  end(): void {
    for (const { journal, frames: length } of this.#incoming.values()) journal.finish(frames(length));
    this.#incoming.clear();
  }

  /** The page is going: what has come in is written. */
  flush(): void {
    for (const { journal } of this.#incoming.values()) journal.flush();
  }

  /** From a capture frame on, draw. */
  growInk(builder: InkBuilder, from: number): void {
    this.#ink = { builder, from, fed: from };
  }

  /**
   * The takes of a pass that is whole, one for each of its channels. Its body is written before this returns, in the
   * queue's order, so that a document never names audio that storage does not have; its tail is still coming in.
   * @param grid the bars that it was played over.
   */
  takesOf(report: Report<'layer-closed'>, grid: ProgramGrid): readonly Take[] {
    const recording = this.#handles.recordingOf(report.audio);
    if (recording === undefined) return [];
    this.#incoming.get(report.audio)?.journal.flush();
    const { frames: length, how, sure } = report.roundTrip;
    const startBar = bars(report.startBar % bodyPlace(grid, report).bars);
    return report.channels.map((channel) => ({
      id: asId<TakeId>(this.#ports.ids.fresh()),
      recording,
      channel,
      bodyStart: report.bodyStart,
      bodyFrames: report.bodyFrames,
      lead: report.bodyStart,
      tail: framesFromSeconds(seconds(LONGEST_TAIL_SECONDS), this.#rate),
      startBar,
      bars: report.bars,
      alignment: [{ fromBar: bars(0), roundTrip: length, how, sure }],
      seam: { chosen: null, pickup: false, decided: null },
    }));
  }

  #feedInk(samples: Float32Array, at: number): void {
    const ink = this.#ink;
    if (ink === null) return;
    const skip = Math.max(0, ink.fed - at);
    if (skip >= samples.length) return;
    ink.builder.add(samples.subarray(skip));
    ink.fed = at + samples.length;
  }
}
