/**
 * `<mh-slip>`: a slip of paper laid over the music while something small is decided. It takes the focus when it appears.
 * Escape, a press elsewhere, or leaving it with the focus asks for it to be taken away; what stands beside it in the same
 * shadow root, as the button that opened it, is not elsewhere.
 *
 * Properties: `label`.
 * Events: `mh-slip-close` (`SlipCloseEvent`): `back` says whether the focus should return to what opened it.
 * Slots: the default one.
 */
import { css, html, LitElement, type TemplateResult } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { base } from '../styles/shared.js';

export class SlipCloseEvent extends Event {
  readonly back: boolean;

  constructor(back: boolean) {
    super('mh-slip-close');
    this.back = back;
  }
}

@customElement('mh-slip')
export class SlipElement extends LitElement {
  static override readonly styles = [
    base,
    css`
      :host {
        position: absolute;
        z-index: 4;
        width: max-content;
        max-width: min(360px, calc(100vw - 32px));
        padding: 14px 18px 16px;
        border: 1.4px solid var(--ink);
        background: var(--paper);
        color: var(--ink);
        font: 15px/1.4 var(--sans);
        text-align: left;
      }
    `,
  ];

  @property() label = '';

  override connectedCallback(): void {
    super.connectedCallback();
    window.addEventListener('pointerdown', this.#pointer);
    this.addEventListener('keydown', this.#key);
    this.addEventListener('focusout', this.#focus);
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    window.removeEventListener('pointerdown', this.#pointer);
    this.removeEventListener('keydown', this.#key);
    this.removeEventListener('focusout', this.#focus);
  }

  override render(): TemplateResult {
    return html`<div role="dialog" aria-label=${this.label}><slot></slot></div>`;
  }

  readonly #key = (event: KeyboardEvent): void => {
    if (event.key !== 'Escape') return;
    event.preventDefault();
    event.stopPropagation();
    this.dispatchEvent(new SlipCloseEvent(true));
  };

  readonly #pointer = (event: Event): void => {
    if (!event.composedPath().includes(this.getRootNode())) this.dispatchEvent(new SlipCloseEvent(false));
  };

  readonly #focus = (event: FocusEvent): void => {
    const to = event.relatedTarget;
    if (to instanceof Node && !this.getRootNode().contains(to)) this.dispatchEvent(new SlipCloseEvent(false));
  };
}

declare global {
  interface HTMLElementTagNameMap {
    'mh-slip': SlipElement;
  }
  interface HTMLElementEventMap {
    'mh-slip-close': SlipCloseEvent;
  }
}
