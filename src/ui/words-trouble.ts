/**
 * Why there is no sound, or why it went away, and what has changed round it. Loaded when the sound is first asked for. The
 * same rules hold as in words.ts.
 */
import type { SoundChange, SoundChoice, SoundView } from '../rehearsal/snapshot.js';

export type SoundRefusal = Extract<SoundView, { state: 'refused' }>['reason'];
type OpenSound = Extract<SoundView, { state: 'open' }>;
export type SoundInterruption = NonNullable<OpenSound['interruption']>;
type VoiceProcessing = OpenSound['processing'][number];

export const TROUBLE_LABELS = {
  useDefault: 'Use the system’s default',
  chosenAnew: 'That is what will be used now: try again.',
} as const;

const SOUND_REFUSED: Readonly<Record<SoundRefusal, string>> = {
  'permission-refused': 'This page was not allowed to hear you. Allow the microphone for it, then try again.',
  'no-input-device': 'No microphone or interface was found. Plug one in, then try again.',
  'no-output-device': 'No output was found that this browser may use. Connect one, then try again.',
  'input-in-use': 'The input would not start: another program may hold it. Close that, then try again.',
  'no-worklets': 'This browser cannot record to the frame. A current one can.',
  'no-audio': 'This browser gives this page no sound. Check that an output is connected, then try again.',
  'rate-refused': 'The input will not run at the rate of this song.',
  'not-secure': 'A browser lets a page listen only on this computer itself or over https. Open it from there.',
  'engine-failed': 'The sound engine would not start. Reload the page; what is kept stays kept.',
};

/** The one that was chosen is looked for and no other: that it is missing does not say that there is none. */
const CHOSEN_GONE: Readonly<Record<'no-input-device' | 'no-output-device', string>> = {
  'no-input-device': 'The input you chose is not there. Plug it in and try again, or use another.',
  'no-output-device':
    'The output you chose is not there, or this browser may not use it. Plug it in and try again, or use another.',
};

/** The side whose device was chosen and is not there; null where something else is amiss. */
export function goneSide(reason: SoundRefusal, { inputId, outputId }: SoundChoice): 'input' | 'output' | null {
  if (reason === 'no-input-device' && inputId !== null) return 'input';
  return reason === 'no-output-device' && outputId !== null ? 'output' : null;
}

export function soundRefusedWords(reason: SoundRefusal, choice: SoundChoice): string {
  const side = goneSide(reason, choice);
  return side === null ? SOUND_REFUSED[reason] : CHOSEN_GONE[`no-${side}-device`];
}

const INTERRUPTED: Readonly<Record<SoundInterruption, string>> = {
  'input-ended': 'The input went away. Check its cable, then open the sound again.',
  'permission-withdrawn': 'This page may not use the microphone any more. Allow it, then open the sound again.',
  'input-stalled': 'The input stands still. Open the sound again.',
  'output-interrupted': 'The sound was stopped from outside. Open it again when you are ready.',
  'engine-stopped': 'The sound engine stopped. Open the sound again.',
};

export const interruptionWords = (why: SoundInterruption): string => INTERRUPTED[why];

/** What has changed round the sound while it went on; empty where there is nothing to be said. */
export function changeWords(change: SoundChange): string {
  switch (change.type) {
    case 'devices-changed':
      return 'Something was plugged in or pulled out. What is open stays as it was.';
    case 'default-changed':
      return `The system’s usual ${change.of} is another one now. What is open stays as it was.`;
    case 'input-back': {
      const back = `${change.input.name === '' ? 'The input' : change.input.name} is back: open the sound again.`;
      return change.recording ? `${back} What you had played until then is kept.` : back;
    }
    case 'input-muted':
      return change.muted ? 'The system has silenced the input: you are not heard.' : 'The input is heard again.';
    case 'page-shown':
      return change.shown ? '' : 'The page is out of sight. Everything goes on; only the picture rests.';
    case 'permission-changed':
      return change.granted
        ? 'This page may hear you.'
        : 'This page may not hear you any more. Allow the microphone for it, then open the sound again.';
    default:
      return change satisfies never;
  }
}

const PROCESSING: Readonly<Record<VoiceProcessing, string>> = {
  'echo cancellation': 'echo cancellation',
  'noise suppression': 'noise suppression',
  'gain control': 'automatic gain',
};

/** Empty where nothing stands in the way. */
export function processingWords(processing: readonly VoiceProcessing[]): string {
  if (processing.length === 0) return '';
  return `The browser would not turn off ${processing.map((each) => PROCESSING[each]).join(' and ')}: takes may pump or thin out.`;
}
