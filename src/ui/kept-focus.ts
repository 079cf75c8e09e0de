/**
 * Keeps the focus in a host: where what had it is taken away, what stands in its place has it then. The focus is never
 * taken from elsewhere.
 */
import type { LitElement, ReactiveController } from 'lit';

export class KeptFocus implements ReactiveController {
  readonly #host: LitElement;
  readonly #successor: () => HTMLElement | null;
  #held: { readonly element: Element; readonly rests: boolean } | null = null;

  /**
   * @param successor what stands in the place of what was taken away, after an update. Something that is only a place to
   * rest, with a tabindex of −1, keeps the focus until there is something better.
   */
  constructor(host: LitElement, successor: () => HTMLElement | null) {
    this.#host = host;
    this.#successor = successor;
    host.addController(this);
  }

  hostUpdate(): void {
    const element = this.#host.shadowRoot?.activeElement ?? null;
    this.#held = element === null ? null : { element, rests: element.getAttribute('tabindex') === '-1' };
  }

  hostUpdated(): void {
    const held = this.#held;
    this.#held = null;
    if (held === null || (held.element.isConnected && !held.rests)) return;
    const next = this.#successor();
    if (next !== held.element) next?.focus();
  }
}
