/**
 * The stretches of a section as data: what changes at its bar lines. Each holds from its line to that of the next one or
 * to the end of the section; bars before the first have the song's tempo and metre.
 */
import type { Tempo } from '../meter/grid.js';
import type { Metre } from '../meter/metre.js';
import type { Hold } from '../meter/stretch.js';
import type { Bars, Bpm, Frames } from '../units/index.js';

interface AtBarLine {
  /** Bar of the section that it begins with, from 0. */
  readonly fromBar: Bars;
}

interface Measured extends AtBarLine {
  /** Null: the song's. */
  readonly metre: Metre | null;
  /** Null: the song's. */
  readonly tempo: Tempo | null;
  /** Fermatas. Their bars count from `fromBar`. */
  readonly holds: readonly Hold[];
}

/** One tempo and metre: a single bar of 2/4 is one of these, with another behind it that goes back to the song's. */
export interface SteadySectionStretch extends Measured {
  readonly type: 'steady';
}

/** A *rit.* or *accel.*: the tempo goes from `tempo` in a straight line over the bars. */
export interface GradualSectionStretch extends Measured {
  readonly type: 'gradual';
  /** Reached at the line after its last bar; counts the same mark. */
  readonly toBpm: Bpm;
}

/** In free time: one bar without click. What follows has the song's tempo and metre, unless another stretch begins. */
export interface FreeSectionStretch extends AtBarLine {
  readonly type: 'free';
  /** At least one. Null: until a press ends it. */
  readonly frames: Frames | null;
}

export type SectionStretch = SteadySectionStretch | GradualSectionStretch | FreeSectionStretch;
