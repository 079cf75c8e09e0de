/** What the rehearsal needs of sound: an opened input and output, an engine to command, and a clock of what is heard. */
import type { EngineCommand, EngineReport } from '../core/render/commands.js';
import type { Peaks } from '../core/render/meters.js';
import type { Result } from '../core/result/result.js';
import type { Frames, Milliseconds, SampleRate, Seconds } from '../core/units/index.js';

export type SoundRefusal =
  /** The player or the browser said no to the microphone. */
  | 'permission-refused'
  | 'no-input-device'
  /** Another program holds it, or the system would not start it. */
  | 'input-in-use'
  | 'no-worklets'
  | 'no-audio'
  /** The browser cannot open the input at the song's rate. */
  | 'rate-refused'
  /** Not a secure context: the page must come from localhost or https. */
  | 'not-secure'
  /** The engine would not start. */
  | 'engine-failed';

export type SoundInterruption =
  /** The input went away. */
  | 'input-ended'
  /** The browser or the system stopped the output. */
  | 'output-interrupted'
  /** The audio thread stopped. */
  | 'engine-stopped';

export type VoiceProcessing = 'echo cancellation' | 'noise suppression' | 'gain control';

export interface SoundRequest {
  readonly sampleRate: SampleRate;
}

export interface SoundOpened {
  /** As the system names it; may be empty. */
  readonly inputName: string;
  readonly inputChannels: number;
  /** Of the device, as far as they are used: with four, there is a pair for the house and one for the foldback. */
  readonly outputChannels: number;
  readonly sampleRate: SampleRate;
  /** From the browser's own figures, mix to ring. */
  readonly estimatedRoundTrip: Frames;
  /** So much of what came in last is always held, at least. */
  readonly heldSeconds: Seconds;
  /** Frames of the limiter's look-ahead: part of every round trip, added to a figure that the player states. */
  readonly lookAhead: Frames;
  /** Processing that could not be turned off. */
  readonly processing: readonly VoiceProcessing[];
}

export interface SoundListener {
  /** Memory is supplied before this is called; the buffer of captured audio is only lent for the length of the call. */
  report(report: EngineReport): void;
  interrupted(why: SoundInterruption): void;
}

export interface Sound {
  /** Must be called from a player's gesture. A second call while open resolves with what is open. */
  open(request: SoundRequest): Promise<Result<SoundOpened, SoundRefusal>>;
  /** Commands sent before `open` resolved are dropped. Buffers in it are transferred. */
  send(command: EngineCommand): void;
  listen(listener: SoundListener): void;
  /** The engine frame that leaves the loudspeaker at `timeStamp` (performance clock). Zero until open. */
  heardAt(timeStamp: Milliseconds): Frames;
  /** Peak of the input since the last call, linear 0 …; null until open. */
  inputPeak(): number | null;
  /** Peaks since the last call, and those held; null until open. What `inputPeak` has taken is not in them again. */
  peaks(): Peaks | null;
  close(): Promise<void>;
}
