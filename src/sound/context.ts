/** The context: at the song's rate, as steady or as quick as was asked for, on the output that was asked for. */
import type { Result } from '../core/result/result.js';
import { failure, success } from '../core/result/result.js';
import type { Pace, SoundRefusal, SoundRequest } from '../ports/sound.js';

/**
 * Steady: seconds of output buffer asked for. In trials the round trip then stood still under stalls of 130 ms, where
 * the short buffer stepped.
 */
const LATENCY_HINTS: Readonly<Record<Pace, AudioContextLatencyCategory | number>> = {
  steady: 0.1,
  quick: 'interactive',
};

/** Choosing the output of a context: Web Audio API 1.1; not in every browser. */
interface ChoosesOutput {
  readonly sinkId?: string | { readonly type: 'none' };
  setSinkId?(id: string): Promise<void>;
}

export const canChooseOutput = (): boolean =>
  typeof AudioContext !== 'undefined' && 'setSinkId' in AudioContext.prototype;

export async function openContext(request: SoundRequest): Promise<Result<AudioContext, SoundRefusal>> {
  if (typeof AudioContext === 'undefined') return failure('no-audio');
  if (typeof AudioWorkletNode === 'undefined') return failure(isSecureContext ? 'no-worklets' : 'not-secure');
  let context: AudioContext;
  try {
    context = new AudioContext({ sampleRate: request.sampleRate, latencyHint: LATENCY_HINTS[request.pace] });
  } catch {
    return failure('rate-refused');
  }
  // Nothing has sounded yet: what is meant for headphones must not come out of a loudspeaker.
  if (request.outputId === null || (await useOutput(context, request.outputId))) return success(context);
  await context.close();
  return failure('no-output-device');
}

/** Null: the system's default. */
export function outputOf(context: AudioContext): string | null {
  const { sinkId } = context as ChoosesOutput;
  return typeof sinkId === 'string' && sinkId !== '' ? sinkId : null;
}

async function useOutput(context: AudioContext & ChoosesOutput, id: string): Promise<boolean> {
  try {
    if (context.setSinkId === undefined) return false;
    await context.setSinkId(id);
    return true;
  } catch {
    return false;
  }
}
