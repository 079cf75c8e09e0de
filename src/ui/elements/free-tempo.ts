/**
 * `<mh-free-tempo>`: a first loop without a tempo: whether it is to be played so, and how it was read.
 *
 * Properties: `on`, whether the first pass records without a tempo; `held`, whether something was played already; `readings`
 * or null.
 * Events: `mh-ask` with `record-without-tempo` or `read-as`.
 */
import { css, html, LitElement, nothing, type TemplateResult } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { Reading } from '../../core/loop/readings.js';
import type { LoopReadings } from '../../rehearsal/loop-readings.js';
import { AskEvent } from '../asks.js';
import { base, plainButtons } from '../styles/shared.js';
import { barsLabel, LABELS, readingWords } from '../words.js';

@customElement('mh-free-tempo')
export class FreeTempoElement extends LitElement {
  static override readonly styles = [
    base,
    plainButtons,
    css`
      :host {
        color: var(--soft);
        font-size: 14px;
      }

      .readings {
        display: flex;
        flex-wrap: wrap;
        gap: 4px 12px;
        align-items: center;
      }

      .now,
      button {
        color: var(--ink);
      }
    `,
  ];

  @property({ type: Boolean }) on = false;
  @property({ type: Boolean }) held = false;
  @property({ attribute: false }) readings: LoopReadings | null = null;

  override render(): TemplateResult | typeof nothing {
    if (!this.held) return this.#choice();
    return this.readings === null ? nothing : this.#readings(this.readings);
  }

  #choice(): TemplateResult {
    return html`<button
      type="button"
      aria-pressed=${this.on ? 'true' : 'false'}
      @click=${() => this.dispatchEvent(new AskEvent({ type: 'record-without-tempo', on: !this.on }))}
    >
      ${LABELS.noTempo}
    </button>`;
  }

  #readings({ now, fewer, more, half, double }: LoopReadings): TemplateResult {
    return html`<div class="readings" role="group" aria-label=${LABELS.readAs}>
      <span role="status">${LABELS.readAs} <span class="now">${readingWords(now)}</span></span>
      ${this.#other(fewer, barsLabel(now.bars - 1))} ${this.#other(more, barsLabel(now.bars + 1))}
      ${this.#other(half, LABELS.half)} ${this.#other(double, LABELS.double)}
    </div>`;
  }

  #other(reading: Reading | null, text: string): TemplateResult | typeof nothing {
    if (reading === null) return nothing;
    return html`<button
      type="button"
      title=${readingWords(reading)}
      @click=${() => this.dispatchEvent(new AskEvent({ type: 'read-as', reading }))}
    >
      ${text}
    </button>`;
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'mh-free-tempo': FreeTempoElement;
  }
}
