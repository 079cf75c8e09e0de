/**
 * Which key does what. A switch key (Space, PageDown, PageUp) never activates a focused button and never scrolls. Keys that
 * can be typed act only where nothing is typed; PageDown and PageUp, which a foot sends, act everywhere, and so does Space
 * in a number. Modifiers other than Shift are left to the browser.
 */

/** What has the focus: somewhere text is typed, or a number, or neither. */
export type Focus = 'text' | 'number' | 'other';

export interface KeyStroke {
  readonly key: string;
  readonly shift: boolean;
  readonly repeat: boolean;
  readonly modified: boolean;
}

export type Command = 'press' | 'hear-beat' | 'stop' | 'take-back' | 'put-back' | 'keep-that' | 'tap' | 'turn-click';

export interface KeyMeaning {
  /** Null where the key is ours but does nothing now, as when it repeats. */
  readonly command: Command | null;
  /** Whether holding it stops. */
  readonly holds: boolean;
}

/** How long a held switch takes to stop, in milliseconds. */
export const HOLD_MS = 700;

/** As written next to the actions, and as `aria-keyshortcuts` names them. */
export const KEY_HINTS: Readonly<Record<Command, { readonly shown: string; readonly aria: string }>> = {
  press: { shown: 'Space', aria: 'Space PageDown' },
  'hear-beat': { shown: 'H', aria: 'H' },
  stop: { shown: 'Esc', aria: 'Escape' },
  'take-back': { shown: '⌫', aria: 'Backspace PageUp' },
  'put-back': { shown: '⇧ ⌫', aria: 'Shift+Backspace' },
  'keep-that': { shown: 'Y', aria: 'Y' },
  tap: { shown: 'T', aria: 'T' },
  'turn-click': { shown: 'K', aria: 'K' },
};

const FOOT_KEYS: readonly string[] = ['PageDown', 'PageUp'];
/** Keys that are ours although something is typed. */
const WHILE_TYPING: Readonly<Record<Exclude<Focus, 'other'>, readonly string[]>> = {
  text: FOOT_KEYS,
  number: [...FOOT_KEYS, ' '],
};

/** Null where the key is not ours and must be left alone. */
export function meaningOf({ key, shift, repeat, modified }: KeyStroke, focus: Focus): KeyMeaning | null {
  if (modified || (focus !== 'other' && !WHILE_TYPING[focus].includes(key))) return null;
  // Held on a button, Enter would press it again and again, and the switch after it if the focus went there.
  if (key === 'Enter' && repeat) return { command: null, holds: false };
  const found = commandOf(key, shift);
  if (found === null) return null;
  return { command: repeat ? null : found, holds: found === 'press' };
}

function commandOf(key: string, shift: boolean): Command | null {
  switch (key) {
    case ' ':
    case 'PageDown':
      return 'press';
    case 'Escape':
      return 'stop';
    case 'PageUp':
      return 'take-back';
    case 'Backspace':
      return shift ? 'put-back' : 'take-back';
    case 'y':
    case 'Y':
      return 'keep-that';
    case 't':
    case 'T':
      return 'tap';
    case 'h':
    case 'H':
      return 'hear-beat';
    case 'k':
    case 'K':
      return 'turn-click';
    default:
      return null;
  }
}
