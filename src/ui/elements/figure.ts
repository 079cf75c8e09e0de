/**
 * `<mh-figure>`: a number in the music that can be turned or typed. Arrows turn it by a step (with Shift by a fine step),
 * Home and End go to its limits, digits or Enter write it, Escape leaves it as it was. A number beyond the limits is not
 * taken: the field stays open and says what it expects. The switch keys take the number and go on to the page, so that
 * what is played next is played by it; Space does not go on where the number can't be taken, PageDown always does.
 *
 * Properties: `value` (null shows nothing); `least`, `most`, `step`, `fineStep`; `decimals` shown; `label`; `spoken`, the
 * value in words; `unit`, written behind it; `clearable`, whether emptying it is allowed.
 * Events: `mh-figure` (`FigureEvent`) with the new number, or null where it was emptied.
 * Parts: `figure`, the number as it stands; `field`, the number being written.
 */
import { css, html, LitElement, nothing, type PropertyValues, type TemplateResult } from 'lit';
import { customElement, property, query, state } from 'lit/decorators.js';
import { base, fields } from '../styles/shared.js';
import { figure, outOfRangeWords } from '../words.js';

export class FigureEvent extends Event {
  readonly value: number | null;

  constructor(value: number | null) {
    super('mh-figure');
    this.value = value;
  }
}

@customElement('mh-figure')
export class FigureElement extends LitElement {
  static override readonly styles = [
    base,
    fields,
    css`
      :host {
        position: relative;
        display: inline-block;
      }

      [role='spinbutton'] {
        display: inline-block;
        min-width: 24px;
        min-height: 24px;
        padding: 0 2px;
        border-bottom: 1.4px dotted var(--edge);
        cursor: text;
      }

      [role='spinbutton']:hover {
        border-bottom: 1.4px solid var(--pencil);
      }

      input {
        width: 4.2em;
      }

      .wrong {
        position: absolute;
        z-index: 3;
        top: 100%;
        left: 0;
        padding: 3px 8px;
        background: var(--paper);
        border: 1px solid var(--edge);
        color: var(--ink);
        font: 14px/1.3 var(--sans);
        white-space: nowrap;
      }

      /* There before its words, so that they are read out when they come. */
      .wrong:empty {
        padding: 0;
        border: 0;
      }
    `,
  ];

  @property({ type: Number }) value: number | null = null;
  @property({ type: Number }) least = 0;
  @property({ type: Number }) most = 100;
  @property({ type: Number }) step = 1;
  @property({ type: Number, attribute: 'fine-step' }) fineStep = 0.1;
  @property({ type: Number }) decimals = 2;
  @property() label = '';
  @property() spoken = '';
  @property() unit = '';
  @property({ type: Boolean }) clearable = false;
  @state() private draft: string | null = null;
  @state() private wrong = false;
  @query('input') private readonly field!: HTMLInputElement | null;
  #backToFigure = false;

  /** The figure, or the field while it is open; once it is drawn. */
  override focus(): void {
    void this.updateComplete.then(() => {
      this.renderRoot.querySelector<HTMLElement>('[role=spinbutton], input')?.focus();
    });
  }

  override render(): TemplateResult {
    return this.draft === null ? this.#standing() : this.#writing(this.draft);
  }

  override updated(changed: PropertyValues): void {
    super.updated(changed);
    const before = changed.get('draft') as string | null | undefined;
    if (this.draft !== null && before === null) {
      this.field?.focus();
      if (this.draft === this.#shown) this.field?.select();
    } else if (this.draft === null && this.#backToFigure) {
      this.renderRoot.querySelector<HTMLElement>('[role=spinbutton]')?.focus();
      this.#backToFigure = false;
    }
  }

  #standing(): TemplateResult {
    return html`<span
      part="figure"
      role="spinbutton"
      tabindex="0"
      aria-label=${this.label}
      aria-valuenow=${this.value ?? nothing}
      aria-valuemin=${this.least}
      aria-valuemax=${this.most}
      aria-valuetext=${this.spoken || nothing}
      @click=${this.#open}
      @keydown=${this.#turn}
      >${this.#shown}${this.unit === '' || this.value === null ? '' : ` ${this.unit}`}</span
    >`;
  }

  #writing(draft: string): TemplateResult {
    return html`<input
        part="field"
        type="text"
        inputmode="decimal"
        autocomplete="off"
        aria-label=${this.label}
        aria-invalid=${this.wrong ? 'true' : 'false'}
        aria-describedby="wrong"
        .value=${draft}
        @input=${this.#typed}
        @keydown=${this.#key}
        @blur=${this.#leave}
      /><span id="wrong" class="wrong" role="alert"
        >${this.wrong ? outOfRangeWords(this.least, this.most) : nothing}</span
      >`;
  }

  get #shown(): string {
    return this.value === null ? '' : figure(this.value, this.decimals);
  }

  readonly #open = (): void => {
    this.draft = this.#shown;
  };

  readonly #typed = (): void => {
    this.wrong = false;
  };

  readonly #turn = (event: KeyboardEvent): void => {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const step = event.shiftKey ? this.fineStep : this.step;
    const now = this.value ?? this.least;
    const turns: Readonly<Record<string, number>> = {
      ArrowUp: now + step,
      ArrowDown: now - step,
      Home: this.least,
      End: this.most,
    };
    const turned = turns[event.key];
    if (turned !== undefined) this.#ask(Math.min(this.most, Math.max(this.least, turned)));
    else if (event.key === 'Enter') this.draft = this.#shown;
    else if (/^[0-9]$/.test(event.key)) this.draft = event.key;
    else return;
    event.preventDefault();
  };

  readonly #key = (event: KeyboardEvent): void => {
    if (event.isComposing || event.ctrlKey || event.altKey || event.metaKey) return;
    const { key } = event;
    if (key === ' ' || key === 'PageDown') this.#switch(event);
    if (key !== 'Enter' && key !== 'Escape') return;
    event.preventDefault();
    event.stopPropagation();
    if (key === 'Escape') this.#close();
    this.#backToFigure = key === 'Escape' || this.#write();
  };

  #switch(event: KeyboardEvent): void {
    if (event.repeat) return;
    this.#backToFigure = this.#write();
    if (this.#backToFigure || event.key === 'PageDown') return;
    event.preventDefault();
    event.stopPropagation();
  }

  readonly #leave = (): void => {
    if (this.draft !== null) this.#write();
  };

  /** @returns whether the field is closed: false where what is in it can't be taken. */
  #write(): boolean {
    const text = (this.field?.value ?? '').trim();
    if (text === '') {
      this.#close();
      if (this.clearable && this.value !== null) this.dispatchEvent(new FigureEvent(null));
      return true;
    }
    const value = Number(text.replace(',', '.').replace('−', '-'));
    if (!(value >= this.least && value <= this.most)) {
      this.wrong = true;
      return false;
    }
    this.#close();
    // What is typed counts to the thousandth, however it is shown: a round trip is given to the frame.
    const typed = Math.round(value * 1000) / 1000;
    if (text !== this.#shown) this.dispatchEvent(new FigureEvent(typed));
    return true;
  }

  #close(): void {
    this.draft = null;
    this.wrong = false;
  }

  #ask(value: number): void {
    const scale = 10 ** this.decimals;
    this.dispatchEvent(new FigureEvent(Math.round(value * scale) / scale));
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'mh-figure': FigureElement;
  }
  interface HTMLElementEventMap {
    'mh-figure': FigureEvent;
  }
}
