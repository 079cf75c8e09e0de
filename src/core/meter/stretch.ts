/** Stretches of bars as data: what a song's time is made of, in order, and what of it is refused. */
import { failure, success, type Result } from '../result/result.js';
import type { Bars, Bpm, Frames, SampleRate } from '../units/index.js';
import { exactBarFrames, type Tempo } from './grid.js';
import type { Metre } from './metre.js';
import { checkMetre, feltBeats } from './metres.js';

/** `beats`: as many times the held beat's own length, fractions allowed, nearest frame. */
export type HoldLength =
  | { readonly type: 'beats'; readonly beats: number }
  | { readonly type: 'frames'; readonly frames: Frames }
  | { readonly type: 'until-pressed' };

/** A fermata. The pulses of the held beat keep their pace; then time stands still, and goes on with the next beat. */
export interface Hold {
  /** Bar of the stretch, from 0. */
  readonly bar: Bars;
  /** Felt beat of that bar, from 0. */
  readonly beat: number;
  /** How much longer than written. */
  readonly longer: HoldLength;
}

/** Bars of one tempo and metre; a single bar of 2/4 is one of these. */
export interface SteadyStretch {
  readonly type: 'steady';
  readonly bars: Bars;
  readonly metre: Metre;
  readonly tempo: Tempo;
  /** At most one for each beat. */
  readonly holds: readonly Hold[];
}

/** A *rit.* or *accel.*: the tempo goes in a straight line over the bars, from `tempo` at the first line to `toBpm`. */
export interface GradualStretch {
  readonly type: 'gradual';
  readonly bars: Bars;
  readonly metre: Metre;
  readonly tempo: Tempo;
  /** Reached at the line after the last bar; counts the same mark. */
  readonly toBpm: Bpm;
  readonly holds: readonly Hold[];
}

/** In free time: one unmeasured bar without click. */
export interface FreeStretch {
  readonly type: 'free';
  /** At least one. Null: until a press ends it. */
  readonly frames: Frames | null;
}

export type MeasuredStretch = SteadyStretch | GradualStretch;
export type Stretch = MeasuredStretch | FreeStretch;

/** Closed list: the words for each live in the user interface. */
export type StretchRefusal =
  /** At least one stretch is steady: what follows the last bar goes on in it. */
  'nothing-steady' | 'bars-out-of-range' | 'metre-out-of-range' | 'tempo-out-of-range' | 'hold-out-of-range';

const MOST_BARS = 9999;
const LONGEST_BAR_SECONDS = 3600;

/** Passes a list with a steady stretch in it, each of 1 to 9999 bars, of a metre that passes, with holds on its beats. */
export function checkStretches(
  stretches: readonly Stretch[],
  rate: SampleRate,
): Result<readonly Stretch[], StretchRefusal> {
  if (!stretches.some(({ type }) => type === 'steady')) return failure('nothing-steady');
  for (const stretch of stretches) {
    const reason = stretch.type === 'free' ? refusalOfFree(stretch) : refusalOfMeasured(stretch, rate);
    if (reason !== null) return failure(reason);
  }
  return success(stretches);
}

const refusalOfFree = ({ frames }: FreeStretch): StretchRefusal | null =>
  frames === null || frames >= 1 ? null : 'bars-out-of-range';

function refusalOfMeasured(stretch: MeasuredStretch, rate: SampleRate): StretchRefusal | null {
  if (!isCount(stretch.bars - 1, MOST_BARS)) return 'bars-out-of-range';
  if (!checkMetre(stretch.metre).ok) return 'metre-out-of-range';
  if (!temposOf(stretch).every((tempo) => lasts(stretch.metre, tempo, rate))) return 'tempo-out-of-range';
  return stretch.holds.every((hold, i) => holdFits(hold, stretch, i)) ? null : 'hold-out-of-range';
}

function temposOf(stretch: MeasuredStretch): readonly Tempo[] {
  const { tempo } = stretch;
  return stretch.type === 'steady' ? [tempo] : [tempo, { ...tempo, bpm: stretch.toBpm }];
}

/** At least a frame for each pulse, at most an hour for the bar. */
function lasts(metre: Metre, tempo: Tempo, rate: SampleRate): boolean {
  const length = exactBarFrames(metre, tempo, rate);
  return length >= metre.num && length <= LONGEST_BAR_SECONDS * rate;
}

function holdFits({ bar, beat, longer }: Hold, stretch: MeasuredStretch, index: number): boolean {
  const twice = stretch.holds.slice(0, index).some((other) => other.bar === bar && other.beat === beat);
  const inside = isCount(bar, stretch.bars) && isCount(beat, feltBeats(stretch.metre).length);
  return inside && !twice && lengthFits(longer);
}

function lengthFits(longer: HoldLength): boolean {
  switch (longer.type) {
    case 'beats':
      return longer.beats > 0 && longer.beats <= MOST_BARS;
    case 'frames':
      return longer.frames >= 0;
    case 'until-pressed':
      return true;
  }
}

/** Whole, from 0 to below `limit`. */
const isCount = (value: number, limit: number): boolean => Number.isInteger(value) && value >= 0 && value < limit;
