/**
 * One opening of the sound as the rehearsal works with it: the numbers of its engine, what it was told, and what comes in
 * from it. An engine numbers its audio from 1, like the one before it, so that each has a session of its own.
 */
import type { RecordingId } from '../core/song/ids.js';
import type { Song } from '../core/song/song.js';
import type { Frames } from '../core/units/index.js';
import { Briefing } from './briefing.js';
import { EngineHandles } from './handles.js';
import { Loader } from './loader.js';
import { Openings } from './openings.js';
import { OpenPasses } from './open-passes.js';
import { PassInk } from './pass-ink.js';
import type { SoundDesk } from './sound-desk.js';
import type { TakingInPorts } from './taking-in.js';
import { TakingIn } from './taking-in.js';

export interface SessionPorts extends Omit<TakingInPorts, 'stored'> {
  readonly sound: SoundDesk;
  /** Told that frames [0, frames) of a recording are in storage. */
  readonly stored: (recording: RecordingId, frames: Frames) => void;
}

export class EngineSession {
  readonly handles = new EngineHandles();
  readonly briefing: Briefing;
  readonly takingIn: TakingIn;
  readonly loader: Loader;
  readonly passInk: PassInk;
  readonly openPasses = new OpenPasses();
  readonly openings: Openings;
  #isOver = false;

  constructor(ports: SessionPorts, { id, sampleRate }: Song) {
    const { sound, library, keeping } = ports;
    const stored = (audio: number, frames: Frames): void => {
      if (!this.#isOver) sound.send({ type: 'audio-stored', audio, frames });
      const recording = this.handles.recordingOf(audio);
      if (recording !== undefined) ports.stored(recording, frames);
    };
    this.briefing = new Briefing(sound, this.handles);
    this.takingIn = new TakingIn({ ...ports, stored }, id, sampleRate, this.handles);
    this.loader = new Loader(library, keeping, this.handles, sound);
    this.passInk = new PassInk(this.takingIn, sampleRate);
    this.openings = new Openings(sampleRate, (command) => {
      if (!this.#isOver) sound.send(command);
    });
  }

  /** The engine is gone: what has come in is written, and nothing more is sent to the next one. */
  end(): void {
    this.#isOver = true;
    this.takingIn.end();
    this.loader.close();
    this.briefing.close();
  }
}
