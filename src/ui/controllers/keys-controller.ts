/** Listens to the keys of the whole window for a host and says what they ask, by the table in keys.ts. */
import type { ReactiveController, ReactiveControllerHost } from 'lit';
import type { Ask } from '../asks.js';
import { HOLD_MS, meaningOf, type Command, type Focus } from '../keys.js';

/** Kinds of input that letters are typed into. */
const TEXT_KINDS = new Set(['text', 'search', 'number', 'email', 'url', 'tel', 'password']);

export class KeysController implements ReactiveController {
  readonly #ask: (ask: Ask) => void;
  /** The switch key that is down, and what will stop, and undo its press, if it stays so. */
  #held: { readonly key: string; readonly timer: ReturnType<typeof setTimeout> } | null = null;

  constructor(host: ReactiveControllerHost, ask: (ask: Ask) => void) {
    this.#ask = ask;
    host.addController(this);
  }

  hostConnected(): void {
    window.addEventListener('keydown', this.#down);
    window.addEventListener('keyup', this.#up);
    window.addEventListener('blur', this.#release);
  }

  hostDisconnected(): void {
    window.removeEventListener('keydown', this.#down);
    window.removeEventListener('keyup', this.#up);
    window.removeEventListener('blur', this.#release);
    this.#release();
  }

  readonly #down = (event: KeyboardEvent): void => {
    if (event.isComposing) return;
    const { key, repeat, timeStamp } = event;
    const modified = event.ctrlKey || event.altKey || event.metaKey;
    const meaning = meaningOf({ key, shift: event.shiftKey, repeat, modified }, focusOf(event));
    if (meaning === null) return;
    event.preventDefault();
    if (meaning.command === null) return;
    this.#ask(askOf(meaning.command, timeStamp));
    if (meaning.holds) this.#hold(key, timeStamp);
  };

  /** Some browsers activate a button when Space comes up, so that is prevented too. */
  readonly #up = (event: KeyboardEvent): void => {
    if (event.key === this.#held?.key) this.#release();
    if (event.key === ' ' && focusOf(event) !== 'text') event.preventDefault();
  };

  readonly #release = (): void => {
    if (this.#held !== null) clearTimeout(this.#held.timer);
    this.#held = null;
  };

  #hold(key: string, since: number): void {
    this.#release();
    const timer = setTimeout(() => {
      this.#ask({ type: 'stop', timeStamp: since + HOLD_MS, held: true });
    }, HOLD_MS);
    this.#held = { key, timer };
  }
}

function askOf(command: Command, timeStamp: number): Ask {
  switch (command) {
    case 'press':
    case 'stop':
    case 'take-back':
    case 'keep-that':
    case 'tap':
    case 'hear-beat':
      return { type: command, timeStamp };
    case 'put-back':
    case 'turn-click':
      return { type: command };
    default:
      return command satisfies never;
  }
}

/** The element inside every shadow root that the key went to. */
function focusOf(event: KeyboardEvent): Focus {
  const target = event.composedPath()[0];
  if (!(target instanceof HTMLElement)) return 'other';
  if (target instanceof HTMLTextAreaElement || target.isContentEditable) return 'text';
  if (!(target instanceof HTMLInputElement) || !TEXT_KINDS.has(target.type)) return 'other';
  // A figure of the music that is being typed: no space belongs into it.
  return target.getAttribute('inputmode') === 'decimal' ? 'number' : 'text';
}
