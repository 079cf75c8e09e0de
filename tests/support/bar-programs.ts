/** Programs for tests over any bars, and an engine that plays them with the click on. */
import type { Stretch } from '../../src/core/meter/stretch.js';
import type { Program } from '../../src/core/program/program.js';
import { programStretches } from '../../src/core/program/stretch-arrays.js';
import { frames, gain } from '../../src/core/units/index.js';
import type { Heard } from './knocks.js';
import { knocksIn } from './knocks.js';
import { Performance } from './performance.js';
import type { PerformanceOptions } from './performance.js';
import { programOf } from './programs.js';
import type { RowVoice } from './row-programs.js';
import { rowProgram } from './row-programs.js';

export const CLICK = 0.25;

export interface BarProgram {
  readonly loop?: boolean;
  readonly revision?: number;
  readonly passesKnown?: number;
  readonly voices?: readonly RowVoice[];
}

/** No layers unless voices are given. */
export function barProgram(list: readonly Stretch[], options: BarProgram = {}): Program {
  const { loop = true, revision = 1, passesKnown = 0, voices } = options;
  const grid = { rate: 48_000, barFrames: 96_000, pulses: 4, beats: 15 };
  const program =
    voices === undefined ? programOf({}, revision, passesKnown) : rowProgram({ grid, voices, revision, passesKnown });
  return { ...program, stretches: programStretches(list, program.sampleRate, loop) };
}

/** A stopped engine with a program, the click on. */
export function readyToPlay(program: Program, options: PerformanceOptions = {}): Performance {
  const p = new Performance(options);
  p.useProgram(program);
  p.handle({ type: 'set-click', playing: true, gain: gain(CLICK) });
  return p;
}

/** An engine that plays a program from the top, with the click on. */
export function playing(program: Program, options: PerformanceOptions = {}): Performance {
  const p = readyToPlay(program, options);
  p.handle({ type: 'play', heard: frames(p.heard) });
  return p;
}

/** Knocks of the click in [from, to), counted from the plan's origin; nothing else may sound there. */
export const knocksBetween = (p: Performance, from: number, to: number): readonly Heard[] =>
  knocksIn(p.left.slice(p.origin + from, p.origin + to), p.rate).map(({ at, level }) => ({ at: at + from, level }));

export const placesBetween = (p: Performance, from: number, to: number): readonly number[] =>
  knocksBetween(p, from, to).map(({ at }) => at);
