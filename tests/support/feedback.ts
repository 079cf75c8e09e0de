/**
 * A microphone before a loudspeaker, in numbers: what the monitor sends out comes back after a round trip, through a
 * resonance, and is monitored again. The real monitor and the real limiter are in the loop.
 */
import { Limiter } from '../../src/core/limiter/limiter.js';
import { Monitor } from '../../src/core/render/monitor.js';
import { frames, gain, sampleRate } from '../../src/core/units/index.js';
import { seededNoise } from './tones.js';

const BLOCK = 96;

export interface Feedback {
  readonly rate?: number;
  /** Once round, in seconds, the limiter's look-ahead included. */
  readonly roundTrip: number;
  /** What the engine takes for it, where that is something else. */
  readonly believedRoundTrip?: number;
  /** At the resonance, in decibels. Over 0 it grows. */
  readonly loopGain: number;
  readonly hertz: number;
  readonly q?: number;
  /** Noise of the room, peak. */
  readonly room?: number;
  readonly seed?: number;
  readonly seconds?: number;
  /** What is played into the microphone, at a second. */
  readonly player?: (second: number) => number;
}

export interface FeedbackResult {
  /** Second at which the monitor fell silent for good; null where it did not. */
  readonly silencedAt: number | null;
  /** Second at which it was reported. */
  readonly toldAt: number | null;
  /** Seconds that the microphone had stood at full scale by then, or by the end. */
  readonly loudFor: number;
  /** Root mean square at the microphone in the 50 ms before, dBFS. */
  readonly level: number;
}

export function feedback(options: Feedback): FeedbackResult {
  const { loopGain, hertz, q = 5, room = 3e-4, seed = 1, seconds = 15, player = () => 0 } = options;
  const rate = options.rate ?? 48_000;
  const limiter = new Limiter(sampleRate(rate));
  const monitor = new Monitor(sampleRate(rate), 1);
  monitor.setRoundTrip(frames(Math.round((options.believedRoundTrip ?? options.roundTrip) * rate)));
  monitor.set(true, gain(1), frames(0));
  const noise = seededNoise(seed);
  const resonance = bandPass(rate, hertz, q);
  const strength = 10 ** (loopGain / 20);
  const line = new Float64Array(Math.round(options.roundTrip * rate) - limiter.lookAhead);
  const microphone = new Float32Array(BLOCK);
  const monitored = new Float64Array(BLOCK);
  const left = new Float32Array(BLOCK);
  const right = new Float32Array(BLOCK);
  const smooth = 1 / (0.05 * rate);
  let loudFrom: number | null = null;
  let silentFrom: number | null = null;
  let power = 0;
  let powerThen = 0;
  let at = 0;
  for (let frame = 0; frame < seconds * rate; frame += BLOCK) {
    for (let i = 0; i < BLOCK; i++) {
      const back = line[(at + i) % line.length] ?? 0;
      const sample = back + room * noise() + player((frame + i) / rate);
      microphone[i] = Math.max(-1, Math.min(1, sample));
      power += smooth * (sample * sample - power);
      if (Math.abs(sample) > 0.8) loudFrom ??= frame + i;
    }
    monitored.fill(0);
    monitor.add([microphone], 0, frame, BLOCK, monitored);
    const silent = monitored[BLOCK - 1] === 0 && microphone[BLOCK - 1] !== 0;
    if (!silent) silentFrom = null;
    else if (silentFrom === null) {
      silentFrom = frame;
      powerThen = power;
    }
    for (let i = 0; i < BLOCK; i++) left[i] = right[i] = monitored[i] ?? 0;
    limiter.process(left, right, BLOCK);
    for (let i = 0; i < BLOCK; i++) line[(at + i) % line.length] = strength * resonance(left[i] ?? 0);
    at += BLOCK;
    if (!monitor.takeHowled()) continue;
    const loudFor = loudFrom === null ? 0 : Math.max(0, (silentFrom ?? frame) - loudFrom) / rate;
    return { silencedAt: (silentFrom ?? frame) / rate, toldAt: frame / rate, loudFor, level: levelOf(powerThen) };
  }
  const loudFor = loudFrom === null ? 0 : seconds - loudFrom / rate;
  return { silencedAt: null, toldAt: null, loudFor, level: levelOf(power) };
}

const levelOf = (power: number): number => 10 * Math.log10(power + 1e-20);

/** A resonance of gain 1 at `hertz` (Bristow-Johnson's cookbook, from memory). */
export function bandPass(rate: number, hertz: number, q: number): (sample: number) => number {
  const turn = (2 * Math.PI * hertz) / rate;
  const alpha = Math.sin(turn) / (2 * q);
  const b = alpha / (1 + alpha);
  const a1 = (-2 * Math.cos(turn)) / (1 + alpha);
  const a2 = (1 - alpha) / (1 + alpha);
  let [x1, x2, y1, y2] = [0, 0, 0, 0];
  return (x) => {
    const y = b * (x - x2) - a1 * y1 - a2 * y2;
    [x2, x1, y2, y1] = [x1, x, y1, y];
    return y;
  };
}
