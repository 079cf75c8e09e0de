/**
 * Every sentence and label that a player reads or hears read. Each closed list has its words here, by type, so that a new
 * value cannot go without. British English; short; said as one player would to another.
 */
import type { Metre, NoteValue, PulseValue } from '../core/meter/metre.js';
import { MAX_GRACE_BEATS, MAX_PRESS_GUARD } from '../core/meter/presses.js';
import { metreName } from '../core/meter/metres.js';
import { writtenNotes } from '../core/chart/note-sign.js';
import type { Reading } from '../core/loop/readings.js';
import type { Edit, EditRefusal } from '../core/song/edits.js';
import {
  MAX_COUNT_IN,
  MAX_GAIN,
  MAX_HOLD_BEATS,
  MAX_NAME_LENGTH,
  MAX_PULSES,
  MAX_RECEDE,
  MAX_SECTION_BARS,
  MAX_TEMPO,
  MIN_GAIN,
  MIN_SECTION_BARS,
  MIN_TEMPO,
} from '../core/song/limits.js';
import type { SeamKind } from '../core/seam/seam.js';
import type { RoundTripSource } from '../core/song/song.js';
import type { TransportState } from '../core/transport/states.js';
import type {
  KeepingView,
  Next,
  NothingToKeep,
  Notice,
  SettingRefusal,
  SwitchMeaning,
  TapView,
  TransportView,
} from '../rehearsal/snapshot.js';
import type { InputLevel } from './input-level.js';

export type StorageRefusal = Extract<KeepingView, { state: 'not-kept' }>['reason'];

/** `−` for minus, at most so many decimals, none that are zero. */
export function figure(value: number, decimals = 2): string {
  const scale = 10 ** decimals;
  return String(Math.round(value * scale) / scale).replace('-', '−');
}

const barsWord = (count: number): string => (count === 1 ? '1 bar' : `${count} bars`);
const secondsWord = (seconds: number): string => {
  const count = Math.max(1, Math.round(seconds));
  return count === 1 ? '1 second' : `${count} seconds`;
};
const attacksWord = (count: number): string => (count === 1 ? '1 attack' : `${count} attacks`);

/* ------------------------------------------------------------------ the song and where it is kept */

export const newSongTitle = 'Untitled';

/** What a layer is called until the player says otherwise; `n` counts from 1. */
export const newLayerName = (n: number): string => `Layer ${n}`;

/** Instead of the page, where it could not be opened at all. */
export const cannotOpen = 'Manyhand could not open. Reload the page; what is kept stays kept.';

export function documentTitle(song: string): string {
  return `${song} · Manyhand`;
}

const KEEPING_REFUSED: Readonly<Record<StorageRefusal, string>> = {
  'storage-refused': 'this browser will not keep anything here. A private window, perhaps?',
  'storage-full': 'there is no room left for this page on the disk.',
  'storage-blocked': 'another window holds the songs open. Close it there.',
  'newer-version': 'what is here was written by a newer version. Nothing was touched.',
  damaged: 'what is here cannot be read. Nothing was touched.',
  'storage-failed': 'the browser could not write it down.',
};

export function keepingWords(keeping: KeepingView): string {
  switch (keeping.state) {
    case 'kept':
      return 'kept on this computer';
    case 'saving':
      return 'being written down';
    case 'not-kept':
      return `not kept: ${KEEPING_REFUSED[keeping.reason]}`;
    default:
      return keeping satisfies never;
  }
}

/* ------------------------------------------------------------------ the head of the system */

const NOTE_NAMES: Readonly<Record<PulseValue, string>> = {
  1: 'whole note',
  2: 'half note',
  4: 'quarter note',
  8: 'eighth note',
  16: 'sixteenth note',
  32: 'thirty-second note',
};

export function noteWords(value: NoteValue): string {
  return writtenNotes(value)
    .map(({ base, dots }) => (dots === 0 ? NOTE_NAMES[base] : `dotted ${NOTE_NAMES[base]}`))
    .join(' tied to ');
}

export function tempoWords(bpm: number, mark: NoteValue): string {
  return `${figure(bpm)} ${noteWords(mark)}s a minute`;
}

export const soundingWords = (bpm: number): string => `sounds as ${figure(bpm)}`;

export function tapWords({ taps, bpm, spread }: TapView): string {
  const count = taps === 1 ? '1 tap' : `${taps} taps`;
  if (bpm === null) return `${count}: go on`;
  return spread === null
    ? `${count}: ${figure(bpm, 1)}`
    : `${count}: ${figure(bpm, 1)}, give or take ${figure(spread, 1)}`;
}

/** Behind the words of the taps: the other tempo that they may have meant. */
export const otherTempoWords = (bpm: number): string => `or ${figure(bpm, 1)}`;

export const metreWords = (metre: Metre): string => metreName(metre);

const ROUND_TRIP_HOW: Readonly<Record<RoundTripSource, string>> = {
  cable: 'measured by cable',
  measured: 'measured',
  estimated: 'an estimate',
  stated: 'as you stated',
};

export const roundTripHow = (how: RoundTripSource): string => ROUND_TRIP_HOW[how];

/** "78 ms, an estimate"; an estimate is unsure by nature, and needs no word more. */
export function roundTripWords(trip: {
  readonly ms: number;
  readonly how: RoundTripSource;
  readonly sure: boolean;
}): string {
  const known = `${figure(trip.ms, 1)} ms, ${ROUND_TRIP_HOW[trip.how]}`;
  return trip.sure || trip.how === 'estimated' ? known : `${known}, unsure`;
}

const LEVELS: Readonly<Record<InputLevel, string>> = {
  silent: 'nothing heard',
  low: 'too low',
  good: 'good',
  clipping: 'clipping: turn it down',
};

export const levelWords = (level: InputLevel): string => LEVELS[level];

/** The usual caution; how loud and how long is for the rules of the place to say. */
export const CAUTION =
  'Put headphones on, and start quietly: a microphone near an open loudspeaker can howl. For how loud and how long, keep to the advice where you live.';

/* ------------------------------------------------------------------ staves */

export interface StaveInWords {
  readonly name: string;
  /** Null while the sound is being read. */
  readonly attacks: number | null;
  readonly bars: number;
  readonly gain: number;
  readonly leftOut: boolean;
  readonly unsure: boolean;
  readonly live: boolean;
}

/** What ink says to somebody who cannot see it: "4 bars, 8 attacks". */
export function inkWords({ attacks, bars, live }: StaveInWords): string {
  if (live) return attacks === null ? 'the part in hand' : `the part in hand, ${attacksWord(attacks)} so far`;
  return attacks === null ? `${barsWord(bars)}, being read` : `${barsWord(bars)}, ${attacksWord(attacks)}`;
}

/** What is written in the margin: only what deviates from plain. */
export function marginWords({ gain, leftOut, unsure }: Pick<StaveInWords, 'gain' | 'leftOut' | 'unsure'>): string {
  const notes = [leftOut ? 'left out' : '', gain === 0 ? '' : gainWords(gain), unsure ? 'place unsure' : ''];
  return notes.filter((note) => note !== '').join(' · ');
}

const SEAMS: Readonly<Record<SeamKind, string>> = {
  crossfade: 'crossfaded at the line',
  'early-attack': 'led in by an early attack',
  pickup: 'led in by a pickup',
  'let-ring': 'rings on over the line',
};

/** How a layer's end meets its beginning. */
export const seamWords = (kind: SeamKind): string => SEAMS[kind];

const gainWords = (gain: number): string => `${gain > 0 ? '+' : ''}${figure(gain, 1)}`;
export const decibelsWords = (gain: number): string => `${gainWords(gain)} decibels`;

/* ------------------------------------------------------------------ the now line */

const STATES: Readonly<Record<TransportState, string>> = {
  stopped: 'Stopped',
  'counting-in': 'Counting in',
  playing: 'Playing',
  waiting: 'Waiting for the bar',
  recording: 'Recording',
  layering: 'Layering',
};

export function stateWords({ state, layerName, pressMeans }: TransportView): string {
  const isReady = pressMeans === 'record' || pressMeans === 'record-freely';
  if (state === 'stopped' && isReady) return 'Ready when you are';
  const filling = (state === 'recording' || state === 'layering') && layerName !== null;
  return filling ? `${STATES[state]} ${layerName}` : STATES[state];
}

/** "bar 3 of 4", "bar 3" while the length is open, nothing when stopped. */
export function barWords({ bar, bars }: Pick<TransportView, 'bar' | 'bars'>): string {
  if (bar === null) return '';
  return bars === null ? `bar ${bar}` : `bar ${bar} of ${bars}`;
}

const NEXT: Readonly<Record<Next, string>> = {
  nothing: '',
  'recording-starts': 'Then recording starts, on the bar line.',
  'recording-goes-on': 'Play on: the loop closes at the bar line nearest to your press.',
  'closes-by-itself': `The loop closes by itself at bar ${MAX_SECTION_BARS}: no loop is longer.`,
  'free-goes-on': 'Play on, and press where it begins anew: bars and tempo are found from what you play.',
  'end-is-found': 'Play on: its end is being found, and then it goes round.',
  'closing-at-the-line': 'The loop closes at the bar line, and plays.',
  'loop-plays': 'Then the loop plays; the pass closes itself at the bar line.',
  'goes-round-again': 'Then you go round again: the next pass begins on the bar line.',
  'layering-starts': 'Layering starts at the next bar line.',
  'plays-on': 'It goes round until you stop it.',
};

const WAITING_FOR: Readonly<Record<SwitchMeaning, string>> = {
  record: 'The count-in comes first.',
  'record-freely': 'No count-in: press as you begin to play.',
  play: 'The loop is here to be played.',
  'take-it-back': '',
  'new-layer': '',
  'close-the-loop': '',
  'go-round-again': '',
  'do-not-go-round': '',
};

export const nextWords = ({ next, pressMeans }: TransportView): string =>
  next === 'nothing' ? WAITING_FOR[pressMeans] : NEXT[next];

const SWITCH: Readonly<Record<SwitchMeaning, string>> = {
  record: 'Record',
  'record-freely': 'Record at once',
  play: 'Play',
  'take-it-back': 'Take it back',
  'new-layer': 'Record a new layer',
  'close-the-loop': 'Close the loop',
  'go-round-again': 'Go round again',
  'do-not-go-round': 'Don’t go round',
};

export const switchWords = (meaning: SwitchMeaning): string => SWITCH[meaning];

const EDIT_REFUSED: Readonly<Record<EditRefusal, string>> = {
  'tempo-out-of-range': `A tempo lies between ${MIN_TEMPO} and ${MAX_TEMPO}.`,
  'metre-out-of-range': `That metre cannot be beaten: 1 to ${MAX_PULSES} pulses, and groups that add up to them.`,
  'bars-out-of-range': `A section has ${MIN_SECTION_BARS} to ${MAX_SECTION_BARS} bars.`,
  'count-in-out-of-range': `At most ${MAX_COUNT_IN} bars are counted in.`,
  'gain-out-of-range': `A layer goes from ${figure(MIN_GAIN)} to +${figure(MAX_GAIN)} dB.`,
  'recede-out-of-range': `Older layers recede by 0 to ${figure(MAX_RECEDE)} dB a pass.`,
  'name-empty': 'A name needs a letter at least.',
  'name-too-long': `A name has at most ${MAX_NAME_LENGTH} letters.`,
  'hold-out-of-range': `A fermata stands on a beat and holds it for up to ${MAX_HOLD_BEATS} beats more; nothing is held for over an hour.`,
  'stretches-out-of-range': 'Tempo and metre change at bar lines of the section, one change after the other.',
  'stretches-need-a-length': 'Tempo and metre change inside a section only once it has a length.',
  'layers-hold-the-grid': 'Tempo, metre and length are held by what was played over them.',
  'no-such-section': 'That section is no longer there.',
  'no-such-layer': 'That layer is no longer there.',
  'no-such-take': 'That take is no longer there.',
  'no-such-idea': 'That idea is no longer there.',
  'too-few-to-blend': 'A blend needs two layers at least.',
  'blend-too-long': `Those layers come together again only after more than ${MAX_SECTION_BARS} bars: too long for a blend.`,
  'not-a-blend': 'Only a blend can be taken apart.',
};

const SETTING_REFUSED: Readonly<Record<SettingRefusal, string>> = {
  'pass-bars-out-of-range': `A pass has ${MIN_SECTION_BARS} to ${MAX_SECTION_BARS} bars.`,
  'guard-out-of-range': `A second press can be ignored for up to ${figure(MAX_PRESS_GUARD / 1000)} seconds.`,
  'grace-out-of-range': `A press counts as the bar line before it for up to ${MAX_GRACE_BEATS} beats.`,
};

export const editRefusedWords = (reason: EditRefusal): string => EDIT_REFUSED[reason];

/** An edit as a thing that can be taken back or put back. */
export function editWords(edit: Edit): string {
  switch (edit.type) {
    case 'retitle':
      return 'the title';
    case 'set-tempo':
      return 'the tempo';
    case 'set-metre':
      return 'the metre';
    case 'set-count-in':
      return 'the count-in';
    case 'set-click':
      return edit.on ? 'the click brought in' : 'the click silenced';
    case 'set-section-bars':
      return 'the length';
    case 'set-stretches':
      return 'the changes of tempo and metre';
    case 'add-layers':
      return edit.layers.map((layer) => layer.name).join(' and ');
    case 'rename-layer':
      return `the name ${edit.name}`;
    case 'leave-out':
      return edit.out ? 'the layer left out' : 'the layer brought in';
    case 'set-layer-gain':
      return 'the level';
    case 'set-recede':
      return 'how far older layers recede';
    case 'add-take':
      return 'the new take';
    case 'use-take':
      return 'the choice of take';
    case 'set-seam':
    case 'choose-seam':
      return 'the seam';
    case 'realign':
      return 'where the take sits';
    case 'blend':
      return `the blend ${edit.into.name}`;
    case 'take-apart':
      return 'the blend taken apart';
    case 'read-as':
      return 'how the loop was read';
    case 'add-idea':
      return 'the idea';
    case 'drop-idea':
      return 'the idea let go';
    default:
      return edit satisfies never;
  }
}

const NOTHING_TO_KEEP: Readonly<Record<NothingToKeep, string>> = {
  'not-listening': 'Nothing was heard yet: open the sound first.',
  'nothing-heard': 'Nothing but quiet was heard in the last minute.',
  'no-whole-bar': 'Not a whole bar has gone by yet.',
  'not-in-the-ring': 'That was too long ago: it is no longer held.',
  'still-recording': 'This is being recorded, and kept, anyway.',
  'kept-already': 'That is kept already.',
};

type NoticeOf<Type extends Notice['type']> = Extract<Notice, { type: Type }>;

function loopReadWords({ name, bars, bpm, sure }: NoticeOf<'loop-read'>): string {
  const read = `${name} is in, read as ${barsWord(bars)} at ${figure(bpm)}.`;
  return sure ? read : `${read} Its end is where you pressed: what you played did not say more.`;
}

/** What a loop had no room for is said, so that nobody looks for it. */
function leftOutWords({ name, bars, leftOut }: NoticeOf<'that-kept'>): string {
  const kept = `${name} is what you just played, ${barsWord(bars)}.`;
  if (leftOut === 0) return kept;
  return `${kept} ${barsWord(leftOut)} before that would not go round with the loop.`;
}

const heldWords = (kept: string, heldBars: number | null): string =>
  heldBars === null ? kept : `${kept} At this tempo only the last ${barsWord(heldBars)} are sure to be held.`;

export function noticeWords(notice: Notice): string {
  switch (notice.type) {
    case 'edit-refused':
      return EDIT_REFUSED[notice.reason];
    case 'setting-refused':
      return SETTING_REFUSED[notice.reason];
    case 'storage-refused':
      return `Not kept: ${KEEPING_REFUSED[notice.reason]}`;
    case 'pass-dropped':
      return 'That pass was let go. Everything else stands.';
    case 'taken-back':
      return `Taken back: ${editWords(notice.edit)}.`;
    case 'put-back':
      return `Put back: ${editWords(notice.edit)}.`;
    case 'layer-kept':
      return `${notice.name} is in, ${barsWord(notice.bars)}.`;
    case 'layers-kept':
      return `${notice.names.join(' and ')} are in, ${barsWord(notice.bars)}.`;
    case 'take-kept':
      return `Another take of ${notice.name} is in, ${barsWord(notice.bars)}.`;
    case 'loop-read':
      return loopReadWords(notice);
    case 'no-reading':
      return 'That is no whole number of bars at any tempo here. It is kept as an idea.';
    case 'that-kept':
      return heldWords(leftOutWords(notice), notice.heldBars);
    case 'cut-kept':
      return `Kept as an idea, as it had not come to its end: ${secondsWord(notice.seconds)}.`;
    case 'idea-kept':
      return `Kept as an idea: the last ${secondsWord(notice.seconds)} you played.`;
    case 'take-moved': {
      const by = `${figure(Math.abs(notice.ms), 1)} ms ${notice.ms > 0 ? 'earlier' : 'later'}`;
      return `${notice.name} lies ${by} now, by what is known of the round trip.`;
    }
    case 'cable-lost':
      return 'Nothing comes back through the reference cable any more.';
    case 'nothing-to-keep':
      return NOTHING_TO_KEEP[notice.why];
    case 'sound-missing':
      return `Some of the sound of ${notice.layer} is missing; it is silent there.`;
    case 'stop-for-devices':
      return 'Stop first: another device or pace opens the sound anew.';
    case 'stop-first':
      return 'Stop first: tempo, metre and length stay as they are while the music runs.';
    case 'input-lost':
      return 'The disk fell behind, and a part of that pass is missing. Better play it again.';
    case 'memory-full':
      return 'No memory is left to play what you are recording. It is kept all the same.';
    default:
      return notice satisfies never;
  }
}

/** Whether a notice needs the proofreader's sign. */
export function isProblem(notice: Notice): boolean {
  const problems: Readonly<Record<Notice['type'], boolean>> = {
    'edit-refused': true,
    'setting-refused': true,
    'storage-refused': true,
    'pass-dropped': false,
    'taken-back': false,
    'put-back': false,
    'layer-kept': false,
    'layers-kept': false,
    'take-kept': false,
    'loop-read': false,
    'no-reading': true,
    'that-kept': false,
    'idea-kept': false,
    'cut-kept': false,
    'nothing-to-keep': true,
    'sound-missing': true,
    'stop-first': true,
    'stop-for-devices': true,
    'input-lost': true,
    'take-moved': false,
    'cable-lost': true,
    'memory-full': true,
  };
  return problems[notice.type];
}

/* ------------------------------------------------------------------ a loop without a tempo */

/** How a loop is read: "4 bars at 96". */
export const readingWords = ({ bars, bpm }: Pick<Reading, 'bars' | 'bpm'>): string =>
  `${barsWord(bars)} at ${figure(bpm)}`;

/** "an idea of 12 seconds". */
export const ideaWords = (seconds: number): string => `an idea of ${secondsWord(seconds)}`;
export const droppedIdeaWords = (seconds: number): string => `Let go of ${ideaWords(seconds)}`;

/* ------------------------------------------------------------------ labels */

export const LABELS = {
  program: 'Manyhand',
  retitle: 'Retitle',
  title: 'Title',
  paper: 'Paper',
  slate: 'Slate',
  theme: 'Look',
  tempo: 'Tempo',
  tap: 'Tap',
  hear: 'Hear it',
  slower: 'Slower',
  faster: 'Faster',
  half: 'half',
  double: 'double',
  held: 'held by what was played',
  metre: 'Metre',
  changeMetre: 'Change the metre',
  pulses: 'Pulses in a bar',
  pulseValue: 'of this value',
  groups: 'Felt as',
  groupsHint: 'for instance 2+2+3',
  mark: 'The tempo counts',
  setMetre: 'Set the metre',
  leave: 'Leave it',
  length: 'length',
  open: 'open, until I close it',
  countIn: 'count-in',
  countInByTempo: '1 bar, 2 if bars are short',
  input: 'input',
  inputUnnamed: 'the default input',
  inputLevel: 'level',
  inputOpening: 'opening the sound',
  notLoaded: 'That part of the page did not load. Reload it; what is kept stays kept.',
  openSound: 'Open the sound',
  openAgain: 'Open it again',
  tryAgain: 'Try again',
  roundTrip: 'round trip',
  soundSlip: 'In and out, and the round trip',
  inOut: 'In and out',
  layerName: 'Name of the layer',
  rename: 'Rename',
  marginChange: 'change',
  level: 'Level',
  quieter: 'quieter',
  louder: 'louder',
  marginKeys: 'L leaves it out or brings it in; up and down turn the level',
  openRepeat: 'open',
  firstLayer: 'the first layer',
  nextLayer: 'a new layer',
  takeBack: 'Take back',
  putBack: 'Put back',
  stop: 'Stop',
  keepThat: 'Keep that',
  noTempo: 'no tempo yet: I play, it follows',
  readAs: 'Read as',
  ideas: 'Ideas',
  dropIdea: 'Let it go',
  clickIn: 'Bring the click in',
  clickOut: 'Silence the click',
  dismiss: 'All right',
  layers: 'Layers',
  actions: 'Actions',
} as const;

export const barsLabel = barsWord;
/** On the line of the input: "Two-channel interface, input 2". */
export const deviceInUse = (name: string, channel: number | null): string =>
  `${name === '' ? LABELS.inputUnnamed : name}${channel === null ? '' : `, ${LABELS.input} ${channelLabel(channel)}`}`;
export const channelLabel = (channel: number): string => String(channel + 1);
export const sectionLabel = (mark: string, name: string): string => `Section ${mark}, ${name}`;
export const outOfRangeWords = (least: number, most: number): string => `from ${figure(least)} to ${figure(most)}`;
export const gapsWords = (groups: string, num: number): string => `${groups} does not add up to ${num}`;
export const takesBackWords = (edit: Edit): string => `Take back: ${editWords(edit)}`;
export const putsBackWords = (edit: Edit): string => `Put back: ${editWords(edit)}`;
export const leaveOutWords = (name: string, out: boolean): string => (out ? `Bring ${name} in` : `Leave ${name} out`);

/** What an empty system says. */
export const EMPTY = [
  'Tap T along with the song in your head, and the tempo finds itself.',
  'Then Space counts you in and records.',
] as const;
/** The same where the first pass is to be played without a tempo. */
export const EMPTY_FREE = [
  'Space records at once: press it as you begin to play.',
  'Press it again where the riff begins anew, and its bars and tempo are found.',
] as const;
