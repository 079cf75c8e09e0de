/** Whether a pair of devices is fit for layering, from what is known of them. */
import type { Frames, SampleRate } from '../units/index.js';

export interface DeviceFacts {
  /** The round trip, measured or estimated. */
  readonly roundTrip: Frames;
  /** What the buffers explain of it. */
  readonly explained: Frames;
  /** How often it stepped since the devices were opened. */
  readonly steps: number;
  /** As the browser names them; empty where it does not. */
  readonly names: readonly string[];
}

/** `slow`: more than 100 ms come from somewhere else. `wireless-likely`: a wired pair is recommended. */
export type DeviceAdvice = 'fine' | 'slow' | 'wireless-likely';

const SLOW_SECONDS = 0.1;
/** "Again and again": one step is a glitch. */
const STEPPING = 2;
/** Words of the open standards only: the radio's name, its sound profiles (hands-free, headset, A2DP), and "wireless". */
const WIRELESS_WORDS = /\b(bluetooth|wireless|hands[- ]?free|a2dp|hfp|hsp|le[- ]audio)\b/i;

/** A device that says it is wireless is taken at its word; else one that is slow and steps. */
export function adviseOn({ roundTrip, explained, steps, names }: DeviceFacts, rate: SampleRate): DeviceAdvice {
  if (names.some((name) => WIRELESS_WORDS.test(name))) return 'wireless-likely';
  if (roundTrip - explained <= SLOW_SECONDS * rate) return 'fine';
  return steps >= STEPPING ? 'wireless-likely' : 'slow';
}
