/**
 * Paper or Slate: the system's wish until the player has chosen, and the choice from then on. Where the browser keeps
 * nothing, the choice holds for this visit.
 */
import type { ReactiveController, ReactiveControllerHost } from 'lit';
import type { ThemeName } from '../asks.js';

const KEY = 'manyhand.look';

export class ThemeController implements ReactiveController {
  readonly #host: ReactiveControllerHost;
  readonly #dark = matchMedia('(prefers-color-scheme: dark)');
  #chosen: ThemeName | null = stored();

  constructor(host: ReactiveControllerHost) {
    this.#host = host;
    host.addController(this);
  }

  get theme(): ThemeName {
    return this.#chosen ?? (this.#dark.matches ? 'slate' : 'paper');
  }

  choose(theme: ThemeName): void {
    this.#chosen = theme;
    store(theme);
    this.#show();
  }

  hostConnected(): void {
    this.#dark.addEventListener('change', this.#show);
    this.#show();
  }

  hostDisconnected(): void {
    this.#dark.removeEventListener('change', this.#show);
  }

  readonly #show = (): void => {
    document.documentElement.dataset['theme'] = this.theme;
    this.#host.requestUpdate();
  };
}

function stored(): ThemeName | null {
  try {
    const name = localStorage.getItem(KEY);
    return name === 'paper' || name === 'slate' ? name : null;
  } catch {
    return null;
  }
}

function store(theme: ThemeName): void {
  try {
    localStorage.setItem(KEY, theme);
  } catch {
    // Private windows may refuse: the choice then lasts as long as the page.
  }
}
