/** What was played and is no layer, kept with the song: stretches of recordings become ideas. */
import type { IdeaId, RecordingId } from '../core/song/ids.js';
import { asId } from '../core/song/ids.js';
import type { Frames, SampleRate } from '../core/units/index.js';
import {
  addFrames,
  frames,
  framesFromSeconds,
  seconds,
  secondsFromFrames,
  subtractFrames,
} from '../core/units/index.js';
import type { EngineReport } from '../core/render/commands.js';
import type { Clock } from '../ports/clock.js';
import type { Ids } from '../ports/ids.js';
import { HeardSound } from './heard-sound.js';
import type { Notice } from './snapshot.js';
import type { SongDesk } from './song-desk.js';

type Report<Type extends EngineReport['type']> = Extract<EngineReport, { type: Type }>;

/** Room before the line, for what was played early, and its breath (own choice, as for phrases). */
const LEAD_SECONDS = 0.25;

export interface IdeasPorts {
  readonly song: SongDesk;
  readonly clock: Clock;
  readonly ids: Ids;
  readonly recordingOf: (audio: number) => RecordingId | undefined;
  /** The song was changed. */
  readonly changed: (notice: Notice) => void;
  readonly tell: (notice: Notice) => void;
}

/** A stretch of what comes in, in frames of its recording. */
export interface Stretch {
  readonly audio: number;
  readonly channels: readonly number[];
  readonly start: Frames;
  readonly frames: Frames;
}

/** A pass that never came to its line. */
export type CutPass = Pick<Report<'pass-cut'>, 'audio' | 'channels' | 'bodyStart' | 'bodyFrames'>;

export class Ideas {
  readonly #ports: IdeasPorts;
  readonly #rate: SampleRate;
  #heard = new HeardSound();

  constructor(ports: IdeasPorts) {
    this.#ports = ports;
    this.#rate = ports.song.song.sampleRate;
  }

  captured(report: Report<'captured'>): void {
    this.#heard.captured(report);
  }

  /** The engine is gone; the next one numbers its recordings anew. */
  interrupted(): void {
    this.#heard = new HeardSound();
  }

  /** An idea for each channel. */
  keep({ audio, channels, start, frames: length }: Stretch, notice: Notice): void {
    const { song, ids, clock, recordingOf, changed, tell } = this.#ports;
    const recording = recordingOf(audio);
    if (recording === undefined) return;
    for (const channel of channels) {
      const id = asId<IdeaId>(ids.fresh());
      const idea = { id, recording, channel, start, frames: length, at: clock.today() };
      const refusal = song.apply({ type: 'add-idea', idea });
      if (refusal !== null) return tell({ type: 'edit-refused', reason: refusal });
    }
    changed(notice);
  }

  /** What was played of a pass, on the channels on which anything was. */
  keepCut({ audio, channels, bodyStart, bodyFrames }: CutPass): void {
    const heard = this.#heard.among(audio, channels, bodyStart, bodyFrames);
    if (heard.length === 0) return this.#ports.tell({ type: 'pass-dropped' });
    const start = frames(Math.max(0, bodyStart - framesFromSeconds(seconds(LEAD_SECONDS), this.#rate)));
    const length = subtractFrames(addFrames(bodyStart, bodyFrames), start);
    const notice: Notice = { type: 'cut-kept', seconds: secondsFromFrames(bodyFrames, this.#rate) };
    this.keep({ audio, channels: heard, start, frames: length }, notice);
  }
}
