/**
 * What is said about devices, about the round trip and its being measured, and about places of a layer where it moved.
 * Loaded when the slip or a mark is first wanted. The same rules hold as in words.ts.
 */
import type { DeviceAdvice } from '../core/round-trip/device-advice.js';
import type { RoundTripSource } from '../core/song/song.js';
import type { Milliseconds, SampleRate } from '../core/units/index.js';
import type { Advice } from '../core/watch/advice.js';
import type { TripMark } from '../core/watch/alignments.js';
import type { DisturbanceKind } from '../core/watch/history.js';
import type { MeasuringOrder, MeasuringRefusal, MeasuringView } from '../rehearsal/round-trip-view.js';
import type { ClocksView, ReferenceOrder, ReferenceView } from '../rehearsal/round-trip-view.js';
import type { RoundTripOutcome, RoundTripView } from '../rehearsal/round-trip-view.js';
import type { Pace } from '../rehearsal/snapshot.js';
import { channelLabel, figure } from './words.js';

export type Way = MeasuringOrder['way'];

const DAY_MS = 86_400_000;

/** To the hundredth: a frame is about 0.02 ms. */
export const msWords = (ms: number): string => `${figure(ms, 2)} ms`;
export const framesWord = (count: number): string => (count === 1 ? '1 frame' : `${count} frames`);
const secondsWord = (count: number): string => (count === 1 ? '1 second' : `${count} seconds`);
const inMs = (frames: number, rate: SampleRate, decimals = 1): string =>
  `${figure((frames * 1000) / rate, decimals)} ms`;
const barWord = (bar: number): string => `bar ${bar + 1}`;

/* ------------------------------------------------------------------ devices */

export const DEVICE_LABELS = {
  inOut: 'In and out',
  input: 'You play into',
  output: 'You hear from',
  channels: 'Its input',
  systemDefault: 'the system’s default',
  unnamed: 'Nothing is named yet: this page has no permission to hear you.',
  outputFixed: 'This browser plays where the system plays. Choose another output there.',
  gone: 'one that is not there now',
  chosen: 'the one you chose',
  lookingUp: 'what there is, is being looked up',
  pace: 'Pace',
} as const;

/** A device as it is listed; `n` counts from 1. */
export const deviceWords = (name: string, of: 'input' | 'output', n: number): string =>
  name === '' ? `${of} ${n}, unnamed` : name;

export const PACES: Readonly<Record<Pace, { readonly name: string; readonly cost: string }>> = {
  steady: {
    name: 'steady',
    cost: 'What you decide is heard about 0.3 s later; the round trip stands still.',
  },
  quick: {
    name: 'quick',
    cost: 'For closing loops of open length by foot. A glitch can move the round trip more often.',
  },
};

const DEVICE_ADVICE: Readonly<Record<DeviceAdvice, string>> = {
  fine: '',
  slow: 'It is over 100 ms longer than the buffers explain: something on the way takes its time. A wired pair is recommended.',
  'wireless-likely':
    'This sounds like a wireless pair: its round trip is long, and moves while you play. A wired pair is recommended.',
};

export const deviceAdviceWords = (advice: DeviceAdvice): string => DEVICE_ADVICE[advice];

/** Parts in a million apart, in words; empty where one clock runs both. */
export function clocksWords(clocks: ClocksView | null): string {
  if (clocks?.kind !== 'two-clocks') return '';
  const apart = figure(Math.abs(clocks.ppm), 1);
  return `Input and output run by two clocks, ${apart} parts in a million apart: layers lie where you played them to the millisecond, not to the frame. One interface for both is recommended.`;
}

/* ------------------------------------------------------------------ the reference cable */

export const REFERENCE_LABELS = {
  title: 'Reference cable',
  goodFor: 'Tells to the frame where every bar lies, whatever a glitch did in between.',
  off: 'off',
  on: 'on',
  lost: 'Nothing came back for three bars. See that both ends are plugged in, and that the input is turned up.',
} as const;

/** What is to be heard, and where: music on one side, in mono, and the reference on the other. */
export const REFERENCE_SIDES: Readonly<Record<ReferenceOrder['side'], string>> = {
  right: 'music left, reference right',
  left: 'reference left, music right',
};

/** What goes where, and what to take care of; or why there can be none. */
export function referenceWords({ can, layout, side, channel }: ReferenceView): string {
  if (can === 'too-few-inputs') return 'It takes an input with a second socket to spare.';
  if (can === 'too-few-outputs') return 'It takes an output with a second side to spare.';
  const input = `input ${channelLabel(channel)}, which is then no longer recorded`;
  if (layout === 'pairs') return `Plug a cable from either output of the second pair into ${input}.`;
  const from = side === null ? 'the side that is to be the reference' : `the ${side} output`;
  return `Plug a cable from ${from} into ${input}. The music is in mono meanwhile.`;
}

export const referenceCaution = (layout: ReferenceView['layout']): string =>
  layout === 'pairs'
    ? 'The second pair then carries a quiet hiss at every bar: plug no headphones in there.'
    : 'The other side then carries a quiet hiss at every bar, which must not go to headphones: split the output, and listen to the music’s side alone.';

/* ------------------------------------------------------------------ the round trip */

export const TRIP_LABELS = {
  title: 'Round trip',
  figure: 'round trip',
  ways: 'How to measure it',
  measure: 'Measure',
  check: 'Check, 1 second',
  leave: 'Leave it',
  louder: 'A little louder',
} as const;

export const EXPLAINED =
  'What you play comes in a little later than what you played to: sound takes time on its way out, and on its way back. Once that time is known, every layer is put where you played it.';

export const CAUTION_BEFORE_SOUND =
  'First take the headphones off your ears, and begin low. A soft hiss will be heard, three times (once for a check). Rules on loudness where you are go first.';

export const WAYS: Readonly<Record<Way, { readonly name: string; readonly how: string; readonly picture: string }>> = {
  cable: {
    name: 'a cable, output to input',
    how: 'Exact, and silent but for the headphones.',
    picture: 'Picture: a cable comes out of an output socket and goes into an input socket of the same box.',
  },
  air: {
    name: 'an earpiece at the microphone',
    how: 'Or at a pickup. Counts the way through the air.',
    picture:
      'Picture: one earpiece of a pair of headphones is held against a microphone, sound going from one into the other.',
  },
};

const HOW: Readonly<Record<RoundTripSource, string>> = {
  cable: 'measured through a cable',
  measured: 'measured',
  estimated: 'an estimate from the browser’s own figures',
  stated: 'as you stated',
};

/** "today", "yesterday", "on 3 November"; with the year where it is another. */
export function whenWords(iso: string, now: Date): string {
  const then = new Date(iso);
  const midnight = (date: Date): number => new Date(date.getFullYear(), date.getMonth(), date.getDate()).getTime();
  const days = Math.round((midnight(now) - midnight(then)) / DAY_MS);
  if (days <= 0) return 'today';
  if (days === 1) return 'yesterday';
  const year = then.getFullYear() === now.getFullYear() ? {} : ({ year: 'numeric' } as const);
  return `on ${then.toLocaleDateString('en-GB', { day: 'numeric', month: 'long', ...year })}`;
}

/** How it is known, and when. */
export function sourceWords({ how, measuredAt }: Pick<RoundTripView, 'how' | 'measuredAt'>, now: Date): string {
  return measuredAt === null ? HOW[how] : `${HOW[how]} ${whenWords(measuredAt, now)}`;
}

type Certainty = Pick<RoundTripView, 'how' | 'sure' | 'isFresh'> & Partial<Pick<RoundTripView, 'within' | 'clocks'>>;

/** How certain it is. */
export function certaintyWords({ how, sure, isFresh, within, clocks }: Certainty, rate: SampleRate): string {
  if (how === 'estimated') return 'It may be tens of milliseconds out.';
  if (how === 'stated') return 'As good as the figure you gave.';
  if (sure && within !== undefined && within > 0)
    return `Good to ±${inMs(within, rate)}: it moved since, by what the clocks say.`;
  if (sure) return 'Certain to the frame.';
  if (isFresh && clocks?.kind === 'two-clocks') return 'Good to the millisecond: it changes all the time.';
  return isFresh ? 'Not certain: it may have moved since.' : 'Not certain: it is from an earlier sitting.';
}

/** What is to be done about it; empty where nothing is. */
export function adviceWords(advice: Advice, { isFresh }: Pick<RoundTripView, 'isFresh'>): string {
  switch (advice.type) {
    case 'nothing':
      return '';
    case 'check-now':
      return 'It may have moved since it was measured: a check takes a second.';
    case 'measure-again':
      return isFresh
        ? 'What was measured may hold no more: measuring again takes some ten seconds.'
        : 'Not measured since the sound was opened: it takes some ten seconds.';
    case 'retake-from-bar':
      return `Something moved while ${barWord(advice.bar)} was under way, so its place is not known: record another take.`;
    default:
      return advice satisfies never;
  }
}

export function progressWords(view: MeasuringView): string {
  switch (view.state) {
    case 'settling':
      return `Letting it settle: ${secondsWord(view.seconds)} more`;
    case 'sending':
      return view.of === 1 ? 'Listening' : `Listening: ${view.shot} of ${view.of}`;
    case 'searching':
      return 'Searching';
    default:
      return view satisfies never;
  }
}

export interface RefusalGiven {
  readonly way: Way;
  readonly channel: number;
  readonly rate: SampleRate;
  /** A check listens less far than a measurement. */
  readonly kind: 'whole' | 'check';
}

/** Why it came to nothing, and what to do next. */
export function measuringRefusedWords(why: MeasuringRefusal, { way, channel, rate, kind }: RefusalGiven): string {
  const isCable = way === 'cable';
  const input = channelLabel(channel);
  switch (why.type) {
    case 'silence':
      return isCable
        ? `Nothing came back. See that the cable goes from the output into input ${input}, and that both are turned up.`
        : 'Nothing came back. Hold the earpiece right against the microphone or pickup, and see that both are turned up.';
    case 'noise-only':
      return isCable
        ? `Only noise came back. See that the cable is in input ${input}, and turn the output up a little.`
        : 'Only noise came back. Hold the earpiece closer, turn it up a little, and keep the room quiet.';
    case 'too-weak':
      return isCable
        ? 'It was heard, but not clearly enough to be certain. Turn the output up a little.'
        : 'It was heard, but not clearly enough to be certain. Hold the earpiece closer, or turn it up a little.';
    case 'too-late':
      return kind === 'check'
        ? `It came back after ${inMs(why.frames, rate)}, far from where it was. Measure it anew.`
        : `It came back only after ${inMs(why.frames, rate)}: too late to play to. Use a wired pair, or look for an effect on the way.`;
    case 'hidden-behind-reflections':
      return 'A reflection was louder than the sound itself. Hold the earpiece closer, away from walls and table, and measure again.';
    case 'monitoring-loop':
      return `It comes back over and over, every ${inMs(why.every, rate)}: what goes in is sent out again. Turn that off at the interface or in the system, then measure again.`;
    case 'clipped':
      return isCable
        ? 'It came back too loud and was cut off. Turn the input down, then measure again.'
        : 'It came back too loud and was cut off. Turn the headphones or the input down, then measure again.';
    case 'wrong-channel':
      return `It came back on input ${channelLabel(why.channel)}, while input ${input} is in use. Use that one, or change the socket.`;
    case 'disagree':
      return `It did not come back the same each time: ${why.values.map((value) => figure((value * 1000) / rate, 1)).join(', ')} ms. Close what else is busy on this computer, and measure again.`;
    case 'still-playing':
      return 'Something is being played or recorded. Stop it first, then measure.';
    case 'monitor-is-on':
      return 'You hear your own input through this page. Turn that off first, then measure.';
    case 'stopped':
      return 'Left as it was before. Measure whenever you like.';
    case 'sound-gone':
      return 'The sound went away meanwhile. Open it again, then measure.';
    default:
      return why satisfies never;
  }
}

/** Where a louder hiss helps. */
export function helpsToBeLouder(why: MeasuringRefusal): boolean {
  return why.type === 'silence' || why.type === 'noise-only' || why.type === 'too-weak';
}

export const useInputWords = (channel: number): string => `Use input ${channelLabel(channel)}`;

/** What was found. */
export function foundWords(outcome: Exclude<RoundTripOutcome, { type: 'refused' }>, rate: SampleRate): string {
  if (outcome.type === 'measured') {
    const found = `Found: ${msWords(outcome.ms)}, three times the same to the frame, ${figure(outcome.prominence, 0)} times above all else.`;
    return outcome.inverted ? `${found} The way turns the signal upside down, which does no harm.` : found;
  }
  if (outcome.type === 'drifted') {
    const found = `It moved while it was measured, as two clocks do: ${msWords(outcome.ms)}, to the millisecond.`;
    return outcome.isKnown ? found : `${found} Measure again in a minute, and it is known how fast they drift.`;
  }
  const by = Math.abs(outcome.movedBy);
  if (!outcome.isUsed && by > 0) {
    const than = outcome.movedBy > 0 ? 'longer' : 'shorter';
    return `One shot says ${msWords(outcome.ms)}: ${framesWord(by)} ${than} than what is used. Measure, to be sure.`;
  }
  if (by === 0) return `Just as it was: ${msWords(outcome.ms)}, to the frame.`;
  return `It had become ${outcome.movedBy > 0 ? 'longer' : 'shorter'} by ${framesWord(by)} (${inMs(by, rate, 2)}). From now on it is ${msWords(outcome.ms)}.`;
}

/* ------------------------------------------------------------------ a mark in a layer */

export const MARK_LABELS = {
  retake: 'Make the next pass another take',
  check: 'Check now',
  move: 'From this bar on, move it earlier by',
  moveHint: 'below 0: later',
  doMove: 'Move it',
  leave: 'Leave it',
} as const;

const HAPPENED: Readonly<Record<DisturbanceKind, string>> = {
  'output-gap': 'The output had a gap here: what came after it was heard later.',
  bridged: 'The computer was late here, and the output’s buffer bridged it.',
  'gaps-together': 'The output had gaps here, too close together to be told apart.',
  'estimates-apart': 'The output had a gap here, and two ways of sizing it do not agree.',
  'too-few-readings': 'The output had a gap here, and its clock was read too seldom to size it.',
  'being-read': 'The output had a gap here. In three seconds its length will be known.',
  'input-full': 'The input fell so far behind here that some of it may be missing.',
  'silence-inserted': 'The input had a hole here, and silence stands in it.',
  'input-shifted': 'The input slipped here; counting it a second way showed by how much.',
  'input-unclear': 'The input may have slipped here, and there was nothing to tell it by.',
  'calls-missed': 'The computer left the sound waiting here for a moment.',
  opening: 'The sound had only just been opened, and its round trip was still settling.',
  unseen: 'Two measurements differ here by more than what was seen between them.',
  'long-ago': 'More happened in this sitting than was kept; the oldest of it lies here.',
  suspended: 'The sound was put to rest here.',
  resumed: 'The sound had been put to rest and went on here.',
  'input-reopened': 'The input was opened anew here.',
  'clock-jumped': 'The clock jumped here: the computer may have slept.',
  hidden: 'The page was out of sight here, and its clocks could not be watched.',
  'cable-moved': 'The round trip moved here, as the reference cable shows.',
  'cable-lost': 'The reference did not come back through its cable here.',
};

export const happenedWords = ({ kind, duringPass }: Pick<TripMark, 'kind' | 'duringPass'>): string =>
  duringPass ? HAPPENED[kind] : `Before this was played: ${HAPPENED[kind].replaceAll(' here', '')}`;

/** What a place in a layer is: put right, unsure, or not known yet. */
export type MarkState = 'put-right' | 'unsure' | 'being-read';

export function markState({ kind, shift, how }: Pick<TripMark, 'kind' | 'shift' | 'how'>): MarkState {
  if (kind === 'being-read') return 'being-read';
  return shift === null || how === 'unknown' ? 'unsure' : 'put-right';
}

const MARK_STATES: Readonly<Record<MarkState, string>> = {
  'put-right': 'put right',
  unsure: 'place unsure',
  'being-read': 'being read',
};

/** A check says where the round trip is now; nothing says any more where it was while it settled. */
export const helpsToCheck = (mark: Pick<TripMark, 'kind' | 'shift' | 'how'>): boolean =>
  mark.kind !== 'opening' && markState(mark) === 'unsure';

/** What a mark is called: "Bass, bar 3: place unsure". `bar` of the section, from 0; `round` from 1. */
export const markLabel = (layerName: string, bar: number, round: number, mark: TripMark): string =>
  `${layerName}, ${barWord(bar)}${round === 1 ? '' : `, round ${round}`}: ${MARK_STATES[markState(mark)]}`;

/** Before what happened: which round of the section it lies in, where a take is longer than that. */
export const roundWords = (round: number): string => (round === 1 ? '' : `Round ${round} of the section. `);

/** What became of it: moved, or why not. */
export function repairedWords({ kind, shift, how, within }: TripMark, rate: SampleRate): string {
  if (kind === 'being-read') return 'Go on playing; nothing is lost.';
  if (kind === 'opening') {
    return 'It lies by what was known of the round trip later, which may have settled by some frames since.';
  }
  if (shift === null || how === 'unknown') {
    return 'How far the sound lies off from there on is not known, so nothing was moved. All you played is kept.';
  }
  const accuracy =
    within === 0 ? 'to the frame' : `accurate to ±${figure(Math.max(0.1, (within * 1000) / rate), 1)} ms`;
  if (shift === 0) return `Nothing had to be moved: ${accuracy}.`;
  const by = Math.abs(shift);
  const said = kind === 'cable-moved' ? 'by the reference' : how === 'read' ? 'by what the clocks said' : 'by count';
  return `Moved ${framesWord(by)} (${inMs(by, rate)}) ${shift > 0 ? 'earlier' : 'later'} from here on ${said}: ${accuracy}.`;
}

/** Beside the check: what must be ready for it. */
export const checkHint = (way: Way): string =>
  way === 'cable'
    ? 'Headphones off your ears: a soft hiss through the cable.'
    : 'Headphones off your ears, earpiece to the microphone: a soft hiss.';

export const msSpoken = (ms: Milliseconds | number): string => `${figure(ms, 2)} milliseconds`;
