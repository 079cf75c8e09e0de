/**
 * `<mh-metre>`: the metre as stacked figures. A press opens a slip on which it is changed: pulses, their value, how they are
 * felt, and the note value that the tempo counts. Once something was played over the bars it stands as it is.
 *
 * Properties: `metre`; `mark`, the note value that the tempo counts; `held`.
 * Events: `mh-ask` with `set-metre`.
 */
import { css, html, LitElement, nothing, type PropertyValues, type TemplateResult } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { Metre, NoteValue } from '../../core/meter/metre.js';
import { KeptFocus } from '../kept-focus.js';
import { base } from '../styles/shared.js';
import { LABELS, metreWords } from '../words.js';
import type { SlipCloseEvent } from './slip.js';
import './metre-form.js';
import './slip.js';

@customElement('mh-metre')
export class MetreElement extends LitElement {
  static override readonly styles = [
    base,
    css`
      :host {
        position: relative;
        display: block;
        width: max-content;
      }

      .figures {
        display: block;
        min-width: 26px;
        padding: 0 3px;
        border: 0;
        background: none;
        color: var(--ink);
        font: 400 30px/0.84 var(--serif);
        /* As fat as an engraver's figures. */
        transform: scaleX(1.12);
        -webkit-text-stroke: 1.4px currentcolor;
        text-align: center;
        /* Stave lines stop short of the figures. */
        text-shadow:
          2px 2px 2px var(--paper),
          -2px -2px 2px var(--paper),
          2px -2px 2px var(--paper),
          -2px 2px 2px var(--paper),
          0 0 3px var(--paper);
      }

      button.figures {
        cursor: pointer;
      }

      button.figures:hover,
      button.figures[aria-expanded='true'] {
        color: var(--pencil);
      }

      .figures span:not(.spoken) {
        display: block;
        padding-bottom: 3px;
      }

      mh-slip {
        top: calc(100% + 8px);
        left: -10px;
      }
    `,
  ];

  @property({ attribute: false }) metre: Metre = { num: 4, den: 4, groups: [1, 1, 1, 1] };
  @property({ attribute: false }) mark: NoteValue = { num: 1, den: 4 };
  @property({ type: Boolean }) held = false;
  @state() private open = false;
  #back = false;

  constructor() {
    super();
    new KeptFocus(this, () => this.renderRoot.querySelector<HTMLElement>('.figures'));
  }

  override render(): TemplateResult {
    const figures = html`<span class="spoken">${LABELS.metre} </span><span>${this.metre.num}</span
      ><span class="spoken">/</span><span>${this.metre.den}</span>`;
    if (this.held) return html`<div class="figures" tabindex="-1" title=${metreWords(this.metre)}>${figures}</div>`;
    return html`
      <button
        class="figures"
        type="button"
        title="${metreWords(this.metre)}: ${LABELS.marginChange}"
        aria-haspopup="dialog"
        aria-expanded=${this.open ? 'true' : 'false'}
        @click=${() => (this.open = !this.open)}
      >
        ${figures}
      </button>
      ${this.open ? this.#slip() : nothing}
    `;
  }

  override updated(changed: PropertyValues): void {
    super.updated(changed);
    if (!this.open && this.#back) this.renderRoot.querySelector('button')?.focus();
    this.#back = false;
  }

  #slip(): TemplateResult {
    return html`<mh-slip
      .label=${LABELS.changeMetre}
      @mh-slip-close=${(event: SlipCloseEvent) => this.#close(event.back)}
    >
      <mh-metre-form
        .metre=${this.metre}
        .mark=${this.mark}
        @mh-ask=${() => this.#close(true)}
        @mh-leave=${() => this.#close(true)}
      ></mh-metre-form>
    </mh-slip>`;
  }

  #close(back: boolean): void {
    this.open = false;
    this.#back = back;
    this.requestUpdate();
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'mh-metre': MetreElement;
  }
}
