/**
 * Renditions: audio that is derived from recordings, and the name it is found by. A rendition can be made again from its
 * name alone, so it is a cache: evictable at any time, and never in the history. A blend is none: seams, phases and levels
 * of its layers are in it, so it is kept as a recording, and its layers with it.
 */
import type { Frames, SampleRate } from '../units/index.js';
import { frames } from '../units/index.js';
import type { RecordingId } from './ids.js';
import type { Take } from './song.js';

/** Frames [start, start + frames) of one channel of a recording. */
export interface AudioWindow {
  readonly recording: RecordingId;
  /** Input channel, from 0. */
  readonly channel: number;
  readonly start: Frames;
  readonly frames: Frames;
}

/** How the audio is derived from its window. */
export type Recipe =
  /** To another length and another pitch: another tempo, another key. */
  | { readonly type: 'conformed'; readonly frames: Frames; readonly cents: number }
  | { readonly type: 'reversed' }
  /** An octave lower and twice as long. */
  | { readonly type: 'half-speed' }
  /** An octave higher and half as long. */
  | { readonly type: 'double-speed' }
  | { readonly type: 'resampled'; readonly from: SampleRate; readonly to: SampleRate };

export interface Rendition {
  readonly window: AudioWindow;
  readonly recipe: Recipe;
  /** Of the code that follows the recipe: counts up when it gives other samples. */
  readonly version: number;
}

/** All that a take plays: its lead, its body and its tail. */
export const windowOf = ({ recording, channel, bodyStart, bodyFrames, lead, tail }: Take): AudioWindow => ({
  recording,
  channel,
  start: frames(bodyStart - lead),
  frames: frames(lead + bodyFrames + tail),
});

/** The name of a rendition: equal for equal renditions, whatever the order of their fields, and for no others. */
export function renditionKey({ window, recipe, version }: Rendition): string {
  return JSON.stringify([version, windowKey(window), recipeKey(recipe)]);
}

type Key = readonly (string | number | Key)[];

const windowKey = (window: AudioWindow): Key => [window.recording, window.channel, window.start, window.frames];

function recipeKey(recipe: Recipe): Key {
  switch (recipe.type) {
    case 'conformed':
      return [recipe.type, recipe.frames, recipe.cents];
    case 'reversed':
    case 'half-speed':
    case 'double-speed':
      return [recipe.type];
    case 'resampled':
      return [recipe.type, recipe.from, recipe.to];
    default:
      return recipe satisfies never;
  }
}
