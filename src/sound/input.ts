/** Opening the input: no voice processing, and the truth about what the browser gave. */
import type { Result } from '../core/result/result.js';
import { failure, success } from '../core/result/result.js';
import type { SoundRefusal, VoiceProcessing } from '../ports/sound.js';

export interface OpenedInput {
  readonly stream: MediaStream;
  readonly track: MediaStreamTrack;
  /** Null where the browser does not say. */
  readonly id: string | null;
  readonly name: string;
  readonly channels: number;
  /** The track's own latency figure in seconds, where the browser gives one. */
  readonly latencySeconds: number;
  /** What is on, or what the browser does not say is off. */
  readonly processing: readonly VoiceProcessing[];
}

/** Each of these changes what was played; a gain control alone halves a steady tone within seconds. */
const PLAIN = { echoCancellation: false, noiseSuppression: false, autoGainControl: false } as const;

const PROCESSING_NAMES: readonly [keyof typeof PLAIN, VoiceProcessing][] = [
  ['echoCancellation', 'echo cancellation'],
  ['noiseSuppression', 'noise suppression'],
  ['autoGainControl', 'gain control'],
];

/** @param id null for the system's default. */
export async function openInput(id: string | null = null): Promise<Result<OpenedInput, SoundRefusal>> {
  // Absent in a page that is not served from this machine or over https.
  const devices = navigator.mediaDevices as MediaDevices | undefined;
  if (devices === undefined) return failure(isSecureContext ? 'no-audio' : 'not-secure');
  try {
    const which = id === null ? {} : { deviceId: { exact: id } };
    const stream = await devices.getUserMedia({ audio: { ...PLAIN, channelCount: { ideal: 2 }, ...which } });
    const track = stream.getAudioTracks()[0];
    if (track === undefined) return failure('no-input-device');
    return success(describe(stream, track));
  } catch (error) {
    return failure(refusalOf(error));
  }
}

/** Standard names of getUserMedia's exceptions (Media Capture and Streams). */
function refusalOf(error: unknown): SoundRefusal {
  const name = error instanceof DOMException || error instanceof Error ? error.name : '';
  switch (name) {
    case 'NotAllowedError':
    case 'SecurityError':
      return 'permission-refused';
    case 'NotFoundError':
    case 'OverconstrainedError':
      return 'no-input-device';
    case 'NotReadableError':
    case 'AbortError':
      return 'input-in-use';
    default:
      return 'no-audio';
  }
}

function describe(stream: MediaStream, track: MediaStreamTrack): OpenedInput {
  const settings = track.getSettings() as MediaTrackSettings & { readonly latency?: number };
  return {
    stream,
    track,
    id: settings.deviceId ?? null,
    name: track.label,
    channels: Math.max(1, Math.min(2, settings.channelCount ?? 1)),
    latencySeconds: settings.latency ?? 0,
    processing: PROCESSING_NAMES.filter(([key]) => settings[key] !== false).map(([, name]) => name),
  };
}
