/**
 * `<mh-margin>`: what is written in the right margin of a stave: only what deviates from plain. A press opens a slip on which
 * the level and the leaving out are changed; with the focus on it, L leaves the layer out and arrows turn its level.
 *
 * Properties: `stave`.
 * Events: `mh-ask` with `leave-out` or `set-layer-gain`.
 * Parts: `note`, what is written; `plain`, the offer to change a plain layer.
 */
import { css, html, LitElement, nothing, type PropertyValues, type TemplateResult } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { LayerId } from '../../core/song/ids.js';
import { MAX_GAIN, MIN_GAIN } from '../../core/song/limits.js';
import { AskEvent } from '../asks.js';
import { querySign } from '../engraving/signs.js';
import { base, plainButtons } from '../styles/shared.js';
import { decibelsWords, LABELS, leaveOutWords, marginWords } from '../words.js';
import type { FigureEvent } from './figure.js';
import type { SlipCloseEvent } from './slip.js';
import type { LayerStave } from './stave.js';
import './figure.js';
import './slip.js';

const STEP = 1;
const FINE_STEP = 0.5;

@customElement('mh-margin')
export class MarginElement extends LitElement {
  static override readonly styles = [
    base,
    plainButtons,
    css`
      :host {
        position: relative;
        display: block;
        min-width: 0;
      }

      .note {
        display: flex;
        gap: 5px;
        align-items: center;
        max-width: 100%;
        min-height: 24px;
        padding: 0 4px;
        border: 0;
        color: var(--soft);
        font: italic 14.5px/1.2 var(--sans);
        white-space: nowrap;
      }

      .note:hover {
        color: var(--pencil);
      }

      .query {
        width: 18px;
        height: 18px;
        color: var(--ink);
      }

      mh-slip {
        top: calc(100% + 4px);
        right: 0;
      }

      .level {
        display: flex;
        gap: 12px;
        align-items: baseline;
        margin-bottom: 12px;
      }
    `,
  ];

  @property({ attribute: false }) stave: LayerStave | null = null;
  @state() private open = false;
  #back = false;

  override render(): TemplateResult | typeof nothing {
    const { stave } = this;
    if (stave === null) return nothing;
    const written = marginWords(stave);
    return html`
      <button
        class="note"
        type="button"
        part=${written === '' ? 'plain' : 'note'}
        title=${LABELS.marginKeys}
        aria-label="${stave.name}: ${[written, LABELS.marginChange].filter((part) => part !== '').join('. ')}"
        aria-haspopup="dialog"
        aria-expanded=${this.open ? 'true' : 'false'}
        @click=${() => (this.open = !this.open)}
        @keydown=${(event: KeyboardEvent) => this.#key(event, stave)}
      >
        ${stave.unsure ? querySign() : nothing}${written === '' ? LABELS.marginChange : written}
      </button>
      ${this.open ? this.#slip(stave) : nothing}
    `;
  }

  override updated(changed: PropertyValues): void {
    super.updated(changed);
    if (!this.open && this.#back) this.renderRoot.querySelector('button')?.focus();
    this.#back = false;
  }

  #slip(stave: LayerStave): TemplateResult {
    const turn = (by: number): TemplateResult =>
      html`<button
        type="button"
        aria-label=${by < 0 ? LABELS.quieter : LABELS.louder}
        @click=${() => this.#gain(stave.layer, stave.gain + by)}
      >
        ${by < 0 ? '−' : '+'}
      </button>`;
    return html`<mh-slip .label=${stave.name} @mh-slip-close=${(event: SlipCloseEvent) => this.#close(event.back)}>
      <div class="level">
        <span>${LABELS.level}</span>
        ${turn(-STEP)}
        <mh-figure
          .value=${stave.gain}
          .least=${MIN_GAIN}
          .most=${MAX_GAIN}
          .fineStep=${FINE_STEP}
          .decimals=${1}
          .label=${LABELS.level}
          .spoken=${decibelsWords(stave.gain)}
          unit="dB"
          @mh-figure=${(event: FigureEvent) => this.#gain(stave.layer, event.value ?? 0)}
        ></mh-figure>
        ${turn(STEP)}
      </div>
      <button type="button" @click=${() => this.#leaveOut(stave.layer, !stave.leftOut)}>
        ${leaveOutWords(stave.name, stave.leftOut)}
      </button>
    </mh-slip>`;
  }

  #key(event: KeyboardEvent, stave: LayerStave): void {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const step = event.shiftKey ? FINE_STEP : STEP;
    if (event.key === 'ArrowUp') this.#gain(stave.layer, stave.gain + step);
    else if (event.key === 'ArrowDown') this.#gain(stave.layer, stave.gain - step);
    else if (event.key.toLowerCase() === 'l' && !event.repeat) this.#leaveOut(stave.layer, !stave.leftOut);
    else return;
    event.preventDefault();
  }

  #gain(layer: LayerId, gain: number): void {
    const within = Math.min(MAX_GAIN, Math.max(MIN_GAIN, gain));
    this.dispatchEvent(new AskEvent({ type: 'set-layer-gain', layer, gain: within }));
  }

  #leaveOut(layer: LayerId, out: boolean): void {
    this.dispatchEvent(new AskEvent({ type: 'leave-out', layer, out }));
  }

  #close(back: boolean): void {
    this.open = false;
    this.#back = back;
    this.requestUpdate();
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'mh-margin': MarginElement;
  }
}
