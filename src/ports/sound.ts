/** What the rehearsal needs of sound: an opened input and output, an engine to command, and a clock of what is heard. */
import type { EngineCommand, EngineReport } from '../core/render/commands.js';
import type { Peaks } from '../core/render/meters.js';
import type { Result } from '../core/result/result.js';
import type { Frames, Milliseconds, SampleRate, Seconds } from '../core/units/index.js';
import type { Measurement, Observation } from '../core/watch/observations.js';

export type SoundRefusal =
  /** The player or the browser said no to the microphone. */
  | 'permission-refused'
  | 'no-input-device'
  /** The output that was asked for is not there, or must not be used. */
  | 'no-output-device'
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
  /** The input went away: unplugged, or taken by the system. */
  | 'input-ended'
  /** The player or the browser took the microphone away. */
  | 'permission-withdrawn'
  /** The input is there, but its frames come no more. */
  | 'input-stalled'
  /** The browser or the system stopped the output. */
  | 'output-interrupted'
  /** The audio thread stopped. */
  | 'engine-stopped';

export type VoiceProcessing = 'echo cancellation' | 'noise suppression' | 'gain control';

/**
 * How long a buffer the output has. Steady: a tenth of a second; the round trip stands still, and what is decided is
 * heard 0.3 s later. Quick: as short as the machine can.
 */
export type Pace = 'steady' | 'quick';

export interface SoundRequest {
  readonly sampleRate: SampleRate;
  readonly pace: Pace;
  /** Null: the system's default. */
  readonly inputId: string | null;
  /** Null: the system's default. Another can be chosen only where `devices` says so. */
  readonly outputId: string | null;
}

export interface SoundDevice {
  readonly id: string;
  /** As the system names it; empty where it is not to be known. */
  readonly name: string;
}

export interface SoundDevices {
  readonly inputs: readonly SoundDevice[];
  readonly outputs: readonly SoundDevice[];
  /** Without permission for an input, browsers name nothing and list one of each at most. */
  readonly named: boolean;
  readonly outputCanBeChosen: boolean;
}

/** By which way the input is recorded: counted where it is captured, or as the audio thread gets it. */
export type CaptureWay = 'track' | 'processor';

export interface SoundOpened {
  /** As the system names it; may be empty. */
  readonly inputName: string;
  /** Null where the browser does not say. */
  readonly inputId: string | null;
  readonly outputName: string;
  /** Null: the system's default. */
  readonly outputId: string | null;
  readonly pace: Pace;
  /** `track`: nothing is put in or dropped on the way. */
  readonly capture: CaptureWay;
  /** How long the output is processed ahead in one go. */
  readonly baseLatency: Frames;
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

/** What has changed round the sound. All of it goes on, unless an interruption is told as well. */
export type SoundChange =
  /** Something was plugged in or pulled out. */
  | { readonly type: 'devices-changed'; readonly devices: SoundDevices }
  /** The system's default is another device now; what is open stays what it was. */
  | { readonly type: 'default-changed'; readonly of: 'input' | 'output' }
  /** The input that was lost is there again. `recording`: something was being recorded when it went. */
  | { readonly type: 'input-back'; readonly input: SoundDevice; readonly recording: boolean }
  /** The system silences the input, or no longer does: zeros come in meanwhile. */
  | { readonly type: 'input-muted'; readonly muted: boolean }
  /** The tab is seen, or is not. Everything goes on; only the screen is not drawn. */
  | { readonly type: 'page-shown'; readonly shown: boolean }
  | { readonly type: 'permission-changed'; readonly granted: boolean };

/** How busy the audio thread is. */
export interface LoadReading {
  readonly type: 'load';
  /** Part of the time that it needed in the last two seconds or a little more: an estimate. */
  readonly part: number;
}

/** Signs for a watch over the round trip, and what has changed. */
export type SoundObservation = Exclude<Observation, Measurement> | SoundChange | LoadReading;

export interface SoundListener {
  /** Memory is supplied before this is called; the buffer of captured audio is only lent for the length of the call. */
  report(report: EngineReport): void;
  /** What had come in is kept; what is open is of no more use, and is to be closed. */
  interrupted(why: SoundInterruption): void;
  observed(observation: SoundObservation): void;
}

export interface Sound {
  /**
   * Must be called from a player's gesture. A second call for the same resolves with what is open; one for something else
   * closes that first.
   */
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
  /** What can be asked for. Empty lists where the browser has no devices at all. */
  devices(): Promise<SoundDevices>;
}
