/**
 * `<mh-terms>`: what is agreed before playing: the length of the section and the bars counted in.
 *
 * Properties: `bars`, the section's length or null while it is open; `countIn` or null where the tempo decides; `held`.
 * Events: `mh-ask` with `set-section-bars` or `set-count-in`.
 */
import { css, html, LitElement, type PropertyValues, type TemplateResult } from 'lit';
import { customElement, property, query } from 'lit/decorators.js';
import { MAX_COUNT_IN, MAX_SECTION_BARS, MIN_COUNT_IN, MIN_SECTION_BARS } from '../../core/song/limits.js';
import { AskEvent } from '../asks.js';
import { KeptFocus } from '../kept-focus.js';
import { base, plainButtons } from '../styles/shared.js';
import { barsLabel, LABELS } from '../words.js';

const numbers = (least: number, most: number): readonly number[] =>
  Array.from({ length: most - least + 1 }, (_, i) => least + i);
const LENGTHS = numbers(MIN_SECTION_BARS, MAX_SECTION_BARS);
const COUNT_INS = numbers(MIN_COUNT_IN, MAX_COUNT_IN);

@customElement('mh-terms')
export class TermsElement extends LitElement {
  static override readonly styles = [
    base,
    plainButtons,
    css`
      :host {
        display: flex;
        flex-wrap: wrap;
        gap: 4px 22px;
        align-items: baseline;
        color: var(--soft);
        font-size: 14px;
      }

      select {
        max-width: 100%;
        color: var(--ink);
      }
    `,
  ];

  @property({ type: Number }) bars: number | null = null;
  @property({ type: Number }) countIn: number | null = null;
  @property({ type: Boolean }) held = false;
  @query('.length') private readonly length!: HTMLSelectElement | null;
  @query('.count-in') private readonly counted!: HTMLSelectElement | null;

  constructor() {
    super();
    new KeptFocus(this, () => this.counted);
  }

  override render(): TemplateResult {
    return html`${this.#length()} ${this.#countIn()}`;
  }

  /** Choices show what holds, also where a wish was refused; a browser only knows their options once they are there. */
  override updated(changed: PropertyValues): void {
    super.updated(changed);
    if (this.length) this.length.value = String(this.bars ?? '');
    if (this.counted) this.counted.value = String(this.countIn ?? '');
  }

  #length(): TemplateResult {
    if (this.held && this.bars !== null) return html`<span title=${LABELS.held}>${barsLabel(this.bars)}</span>`;
    return html`<label>
      ${LABELS.length}
      <select class="length" @change=${(event: Event) => this.#ask('set-section-bars', event)}>
        <option value="">${LABELS.open}</option>
        ${LENGTHS.map((bars) => html`<option value=${bars}>${barsLabel(bars)}</option>`)}
      </select>
    </label>`;
  }

  #countIn(): TemplateResult {
    return html`<label>
      ${LABELS.countIn}
      <select class="count-in" @change=${(event: Event) => this.#ask('set-count-in', event)}>
        <option value="">${LABELS.countInByTempo}</option>
        ${COUNT_INS.map((bars) => html`<option value=${bars}>${barsLabel(bars)}</option>`)}
      </select>
    </label>`;
  }

  #ask(type: 'set-section-bars' | 'set-count-in', event: Event): void {
    const { value } = event.target as HTMLSelectElement;
    this.dispatchEvent(new AskEvent({ type, bars: value === '' ? null : Number(value) }));
    this.requestUpdate();
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'mh-terms': TermsElement;
  }
}
