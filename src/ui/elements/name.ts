/**
 * `<mh-name>`: a name that is changed where it stands. A click or Enter opens it, Enter or leaving it writes it, Escape
 * leaves it as it was.
 *
 * Properties: `value`; `label`, what the name is of; `hint`, what a press does.
 * Events: `mh-name` (`NameEvent`) with the new text where it differs, as typed.
 * Parts: `text`, the name as it stands; `field`, the name being written.
 */
import { css, html, LitElement, nothing, type PropertyValues, type TemplateResult } from 'lit';
import { customElement, property, query, state } from 'lit/decorators.js';
import { MAX_NAME_LENGTH } from '../../core/song/limits.js';
import { base, fields } from '../styles/shared.js';

export class NameEvent extends Event {
  readonly text: string;

  constructor(text: string) {
    super('mh-name');
    this.text = text;
  }
}

@customElement('mh-name')
export class NameElement extends LitElement {
  static override readonly styles = [
    base,
    fields,
    css`
      :host {
        display: inline-block;
        max-width: 100%;
      }

      button {
        max-width: 100%;
        min-height: 24px;
        padding: 0 2px;
        overflow: hidden;
        border: 0;
        background: none;
        color: inherit;
        font: inherit;
        line-height: inherit;
        text-align: inherit;
        text-decoration: inherit;
        text-overflow: ellipsis;
        white-space: nowrap;
        cursor: text;
      }

      button:hover {
        text-decoration: underline dotted var(--pencil);
        text-underline-offset: 0.2em;
      }

      input {
        max-width: 100%;
        text-align: inherit;
        field-sizing: content;
      }
    `,
  ];

  @property() value = '';
  @property() label = '';
  @property() hint = '';
  @state() private writing = false;
  @query('input') private readonly field!: HTMLInputElement | null;
  /** Where the focus goes once the name is written. */
  #backToText = false;

  override render(): TemplateResult {
    if (!this.writing) {
      return html`<button part="text" type="button" title=${this.hint || nothing} @click=${this.#open}>
        ${this.value}
      </button>`;
    }
    return html`<input
      part="field"
      type="text"
      aria-label=${this.label}
      maxlength=${MAX_NAME_LENGTH}
      .value=${this.value}
      @keydown=${this.#key}
      @blur=${this.#leave}
    />`;
  }

  override updated(changed: PropertyValues): void {
    super.updated(changed);
    if (!changed.has('writing')) return;
    if (this.writing) this.field?.select();
    else if (this.#backToText) this.renderRoot.querySelector('button')?.focus();
    this.#backToText = false;
  }

  readonly #open = (): void => {
    this.writing = true;
  };

  readonly #key = (event: KeyboardEvent): void => {
    if (event.isComposing || (event.key !== 'Enter' && event.key !== 'Escape')) return;
    event.preventDefault();
    event.stopPropagation();
    this.#backToText = true;
    this.#close(event.key === 'Enter');
  };

  readonly #leave = (): void => {
    this.#close(true);
  };

  #close(write: boolean): void {
    if (!this.writing) return;
    const text = this.field?.value ?? this.value;
    this.writing = false;
    if (write && text !== this.value) this.dispatchEvent(new NameEvent(text));
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'mh-name': NameElement;
  }
  interface HTMLElementEventMap {
    'mh-name': NameEvent;
  }
}
