/**
 * Ink from sound. An onset is a step in which more is struck than in all the steps just before it; the stroke then
 * lasts until the next onset, or until the sound has fallen by 26 dB. The figures below are our own choice, made for
 * plucked, struck and sung parts at 5 ms a step; nothing but the drawing depends on them.
 */
import type { SampleRate } from '../units/index.js';
import { Envelope, stepFrames, type StepLevel } from './envelope.js';
import type { Ink, Stroke } from './ink.js';

/** What is under this is not drawn; it is where heights begin. */
const LOWEST_DB = -48;
/** How far what is struck must rise over the floor. White noise moves by about 1 dB from step to step. */
const RISE = 10 ** (3 / 10);
/** The floor is the highest of this many steps: 35 ms, more than half a wave of the lowest bass string. */
const FLOOR_STEPS = 7;
/** An attack is over when nothing has topped it by 1 dB for 30 ms. */
const STILL_RISING = 10 ** (1 / 10);
const ATTACK_REST_STEPS = 6;
/** No second onset within 50 ms. */
const REFRACTORY_STEPS = 10;
const DECAY = 10 ** (-26 / 10);
/** Players land up to this early; such an attack belongs to the bar line, not to nothing. */
const EARLY_SECONDS = 0.06;

export interface InkBuilderOptions {
  readonly sampleRate: SampleRate;
  /** Length of a bar in frames, above zero. */
  readonly barFrames: number;
  /** Frames before the first bar line in what is added; 0 unless said. */
  readonly startFrame?: number;
}

/** A note that has begun, in steps. */
interface Note {
  readonly from: number;
  peakSquare: number;
  loudest: number;
  /** Step in which the loudest level was reached. */
  topAt: number;
  /** Null while it sounds. */
  until: number | null;
}

/** Ink that grows while something is being recorded. Costs a few operations a sample and keeps only its notes. */
export class InkBuilder {
  readonly #options: InkBuilderOptions;
  readonly #envelope: Envelope;
  /** The last steps, oldest first: what sounds, and what is struck. */
  readonly #recent: number[] = [];
  readonly #recentStruck: number[] = [];
  readonly #notes: Note[] = [];
  #steps = 0;

  constructor(options: InkBuilderOptions) {
    if (!(options.barFrames > 0)) throw new RangeError(`Got ${options.barFrames} frames a bar when expected more.`);
    this.#options = options;
    this.#envelope = new Envelope(options.sampleRate, (level) => {
      this.#step(level);
    });
  }

  add(samples: Float32Array): void {
    this.#envelope.add(samples);
  }

  /** The strokes of the first `bars` bars so far. A note that still sounds reaches to the last whole step added. */
  ink(bars: number): Ink {
    const { barFrames, sampleRate, startFrame = 0 } = this.#options;
    const step = stepFrames(sampleRate);
    const span = bars * barFrames;
    const strokes: Stroke[] = [];
    for (const note of this.#notes) {
      const frame = note.from * step - startFrame;
      if (frame < -EARLY_SECONDS * sampleRate || frame >= span) continue;
      const at = Math.max(0, frame / span);
      const end = ((note.until ?? this.#steps) * step - startFrame) / span;
      strokes.push({ at, height: heightOf(note.peakSquare), decay: Math.max(0, Math.min(1, end) - at) });
    }
    return { strokes, bars };
  }

  #step(level: StepLevel): void {
    const at = this.#steps;
    this.#steps += 1;
    const floor = Math.max(0, ...this.#recentStruck);
    const sounding = this.#notes.at(-1);
    if (this.#isOnset(level, floor, sounding, at)) {
      if (sounding) sounding.until ??= at;
      this.#notes.push({ from: at, peakSquare: level.peakSquare, loudest: level.meanSquare, topAt: at, until: null });
    } else if (sounding?.until === null) {
      follow(sounding, level, Math.max(level.meanSquare, ...this.#recent), at);
    }
    remember(this.#recent, level.meanSquare);
    remember(this.#recentStruck, level.struckSquare);
  }

  #isOnset(level: StepLevel, floor: number, sounding: Note | undefined, at: number): boolean {
    if (heightOf(level.peakSquare) <= 0 || level.struckSquare < floor * RISE) return false;
    if (!sounding) return true;
    const attacking = sounding.until === null && at - sounding.topAt < ATTACK_REST_STEPS;
    return at - sounding.from >= REFRACTORY_STEPS && !attacking;
  }
}

export interface InkOptions {
  /** Bars that the samples after `startFrame` cover. */
  readonly bars: number;
  readonly sampleRate: SampleRate;
  /** Frames of lead before the first bar line; 0 unless said. */
  readonly startFrame?: number;
}

/**
 * The ink of a finished take. Onsets lie within one step (5 ms) of where they were played; no samples, no strokes.
 */
export function inkFromAudio(samples: Float32Array, options: InkOptions): Ink {
  const { bars, sampleRate, startFrame = 0 } = options;
  if (samples.length <= startFrame) return { strokes: [], bars };
  const builder = new InkBuilder({ sampleRate, startFrame, barFrames: (samples.length - startFrame) / bars });
  builder.add(samples);
  return builder.ink(bars);
}

/** Grows a note while it rises and ends it where it has died away. `around` is the highest of the last steps. */
function follow(note: Note, level: StepLevel, around: number, at: number): void {
  const attacking = at - note.topAt < ATTACK_REST_STEPS;
  if (attacking && level.peakSquare > note.peakSquare) note.peakSquare = level.peakSquare;
  if (attacking && level.meanSquare > note.loudest) {
    if (level.meanSquare > note.loudest * STILL_RISING) note.topAt = at;
    note.loudest = level.meanSquare;
  }
  if (around <= note.loudest * DECAY) note.until = at;
}

function remember(steps: number[], level: number): void {
  steps.push(level);
  if (steps.length > FLOOR_STEPS) steps.shift();
}

/** −48 dB is 0 and full scale is 1, evenly in decibels between. */
function heightOf(peakSquare: number): number {
  const decibels = 10 * Math.log10(peakSquare);
  return Math.min(1, Math.max(0, 1 - decibels / LOWEST_DB));
}
