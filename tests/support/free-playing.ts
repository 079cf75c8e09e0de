/**
 * Somebody who plays a figure round and round without a click, and presses near its beginning and near its end. Their
 * evening is made of numbers: the same for a seed.
 */
import { seededNoise } from './tones.js';

export type Instrument = 'kit' | 'strings';

export interface FreePlaying {
  readonly rate: number;
  /** Quarters a minute of a 4/4. */
  readonly bpm: number;
  readonly bars: number;
  /** Milliseconds from the beginning, and from the true end, to the presses. */
  readonly pressOff: number;
  readonly endOff: number;
  readonly instrument: Instrument;
  readonly seed: number;
  /** Standard deviation of each note's time in milliseconds; with it, a note that comes back is not the same sound. */
  readonly looseness?: number;
  /** False: the hands rest from the end of the loop on. */
  readonly playsOn?: boolean;
  /** Whether only what lies near the presses is wanted: the rest of `samples` is silence then. */
  readonly nearPresses?: boolean;
}

export interface Played {
  readonly samples: Float32Array;
  /** Frame of the first note. */
  readonly first: number;
  /** Frames from the first note to its return, where that comes; exact tempo, not rounded. */
  readonly period: number;
  /** Frames from the first note as played to its return as played; the period where nothing returns. */
  readonly played: number;
  /** Frames of the presses. */
  readonly from: number;
  readonly to: number;
}

interface Note {
  readonly at: number;
  readonly sound: Float32Array;
  readonly level: number;
}

/** Silence before the first note, and music after the second press, in seconds. */
const BEFORE = 1;
const AFTER = 1;
/** A loose player gets so many sounds out of a note, one after the other; with an odd number none comes back in a bar. */
const LOOSE_SOUNDS = 7;
/** What is near a press, in seconds: no note rings for longer. */
const NEAR = 2;

export function playFreely(playing: FreePlaying): Played {
  const { rate, bpm, bars, pressOff, endOff, seed, looseness = 0, playsOn = true } = playing;
  const random = seededNoise(seed);
  const eighth = (30 * rate) / bpm;
  const period = bars * 8 * eighth;
  const first = Math.round(BEFORE * rate);
  const end = first + period;
  const length = Math.round(end + (endOff / 1000 + AFTER) * rate);
  const figure = figureOf(bars, random);
  const notes: Note[] = [];
  for (let step = 0; ; step++) {
    const exact = first + step * eighth;
    if (exact >= (playsOn ? length : end - eighth / 2)) break;
    const kind = figure[step % figure.length] ?? null;
    if (kind === null) continue;
    const at = step === 0 ? first : Math.round(exact + (gaussian(random) * looseness * rate) / 1000);
    const level = looseness === 0 ? 1 : 10 ** ((2 * gaussian(random)) / 20);
    const take = looseness === 0 ? 0 : 1 + (step % LOOSE_SOUNDS);
    notes.push({ at, level, sound: soundOf(playing.instrument, kind, rate, take) });
  }
  const isNear = (frame: number): boolean =>
    playing.nearPresses !== true || frame < first + NEAR * rate || frame > end - NEAR * rate;
  const samples = new Float32Array(length);
  for (let i = 0; i < length; i++) if (isNear(i)) samples[i] = 0.0003 * random();
  for (const note of notes) if (isNear(note.at)) add(samples, note);
  const back = notes.find(({ at }) => at > end - eighth / 2)?.at;
  return {
    samples,
    first,
    period,
    played: back === undefined ? period : back - first,
    from: Math.round(first + (pressOff * rate) / 1000),
    to: Math.round(end + (endOff * rate) / 1000),
  };
}

/** Kinds of note in eighths: always one on the first, then as it falls; no bar is quite like another. */
function figureOf(bars: number, random: () => number): readonly (number | null)[] {
  return Array.from({ length: bars * 8 }, (_, step) => {
    if (step === 0) return 0;
    const likely = step % 2 === 0 ? 0.75 : 0.4;
    if (random() * 0.5 + 0.5 > likely) return null;
    return 1 + Math.floor((random() * 0.5 + 0.5) * 4.999);
  });
}

const HERTZ = [82.407, 110, 146.832, 195.998, 246.942, 329.628];
const memory = new Map<string, Float32Array>();

function soundOf(instrument: Instrument, kind: number, rate: number, take: number): Float32Array {
  const key = `${instrument} ${kind} ${rate} ${take}`;
  const known = memory.get(key);
  if (known !== undefined) return known;
  const made = instrument === 'kit' ? struck(kind, rate, take) : plucked(kind, rate, take);
  memory.set(key, made);
  return made;
}

/** A hit: noise of its own colour and decay, that begins with its peak. */
function struck(kind: number, rate: number, take: number): Float32Array {
  const noise = seededNoise(100 * kind + 7919 * take + 1);
  const decay = (0.02 + 0.012 * kind) * rate;
  const dark = 0.1 + 0.15 * kind;
  let low = 0;
  return Float32Array.from({ length: Math.round(6 * decay) }, (_, i) => {
    low += dark * (noise() - low);
    return (i === 0 ? 0.4 : low) * 0.6 * Math.exp(-i / decay);
  });
}

/** A string: partials that decay the faster the higher they are; another take has other phases. */
function plucked(kind: number, rate: number, take: number): Float32Array {
  const hertz = HERTZ[kind] ?? 82.407;
  const phases = seededNoise(50 * kind + 7919 * take + 3);
  const partials = Array.from({ length: 10 }, (_, k) => [k + 1, Math.PI * phases()] as const);
  return Float32Array.from({ length: Math.round(1.2 * rate) }, (_, i) => {
    let sum = 0;
    for (const [k, phase] of partials) {
      sum +=
        (Math.sin((2 * Math.PI * hertz * k * i) / rate + phase) * Math.exp((-i / (rate * 0.3)) * (1 + 0.25 * k))) / k;
    }
    return 0.2 * sum * Math.min(1, i / (0.001 * rate));
  });
}

function add(samples: Float32Array, { at, sound, level }: Note): void {
  const end = Math.min(samples.length, at + sound.length);
  for (let i = Math.max(0, at); i < end; i++) samples[i] = (samples[i] ?? 0) + level * (sound[i - at] ?? 0);
}

/** About normal: the sum of twelve uniform numbers. */
function gaussian(random: () => number): number {
  let sum = 0;
  for (let i = 0; i < 12; i++) sum += random() / 2;
  return sum;
}
