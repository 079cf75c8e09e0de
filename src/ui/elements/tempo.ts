/**
 * `<mh-tempo>`: the tempo at the head of the first system: a word, the mark, and what changes it. Once something was played
 * over the bars the mark stands as it is. While taps give a reading it is the reading that is turned.
 *
 * Properties: `bpm`; `mark`, the note value it counts; `sounding`, the tempo that sounds; `word` or null; `held`; `taps`; `running`.
 * Events: `mh-ask` with `set-tempo`, `tap` or `hear-beat`.
 */
import { css, html, LitElement, nothing, type TemplateResult } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { NoteValue } from '../../core/meter/metre.js';
import { MAX_TEMPO, MIN_TEMPO } from '../../core/song/limits.js';
import type { TapView } from '../../rehearsal/snapshot.js';
import { AskEvent } from '../asks.js';
import { noteSign } from '../engraving/signs.js';
import { KeptFocus } from '../kept-focus.js';
import { KEY_HINTS } from '../keys.js';
import { Moment } from '../moment.js';
import { base, keyHints, plainButtons } from '../styles/shared.js';
import { figure, LABELS, otherTempoWords, soundingWords, tapWords, tempoWords } from '../words.js';
import type { FigureEvent } from './figure.js';
import './figure.js';

/** Less than this between the tempo asked for and the one that sounds is not worth a word. */
const AUDIBLE_DIFFERENCE = 0.01;

const isPossible = (bpm: number): boolean => bpm >= MIN_TEMPO && bpm <= MAX_TEMPO;
const toHundredths = (bpm: number): number => Math.round(bpm * 100) / 100;
const toTenths = (bpm: number): number => Math.round(bpm * 10) / 10;

@customElement('mh-tempo')
export class TempoElement extends LitElement {
  static override readonly styles = [
    base,
    plainButtons,
    keyHints,
    css`
      :host {
        display: flex;
        flex-wrap: wrap;
        gap: 4px 22px;
        align-items: center;
      }

      .mark {
        display: flex;
        gap: 10px;
        align-items: center;
        font: 19px/1.3 var(--serif);
      }

      .word {
        font-weight: 700;
      }

      .equals {
        display: flex;
        gap: 7px;
        align-items: center;
      }

      .note {
        margin-top: -7px;
      }

      .turn {
        display: flex;
        flex-wrap: wrap;
        gap: 4px 12px;
        align-items: center;
        color: var(--soft);
        font-size: 14px;
      }

      button:not([aria-disabled='true']) {
        color: var(--ink);
      }

      .sign {
        font-size: 18px;
        line-height: 1;
      }

      .reading {
        color: var(--pencil);
      }

      /* There before its words, so that they are read out when they come; and taking no room. */
      .reading:empty {
        position: absolute;
      }
    `,
  ];

  @property({ type: Number }) bpm = 96;
  @property({ attribute: false }) mark: NoteValue = { num: 1, den: 4 };
  @property({ type: Number }) sounding = 96;
  @property() word: string | null = null;
  @property({ type: Boolean }) held = false;
  @property({ attribute: false }) taps: TapView | null = null;
  /** Whether something sounds already. */
  @property({ type: Boolean }) running = false;
  readonly #tap = new Moment((timeStamp) => this.dispatchEvent(new AskEvent({ type: 'tap', timeStamp })));

  constructor() {
    super();
    new KeptFocus(this, () => this.renderRoot.querySelector<HTMLElement>(this.held ? '.mark' : 'mh-figure'));
  }

  override render(): TemplateResult {
    const spoken = tempoWords(this.bpm, this.mark);
    return html`
      <div class="mark" tabindex=${this.held ? '-1' : nothing}>
        ${this.word === null ? nothing : html`<span class="word">${this.word}</span>`}
        <span class="equals">
          ${noteSign(this.mark)}<span aria-hidden="true">=</span>
          ${this.held ? html`<span title=${LABELS.held}>${figure(this.bpm)}<span class="spoken"> ${spoken}</span></span>` : this.#figure(spoken)}
        </span>
      </div>
      ${this.held ? nothing : this.#turners()} ${this.#reading()}
    `;
  }

  #figure(spoken: string): TemplateResult {
    return html`<mh-figure
      .value=${this.bpm}
      .least=${MIN_TEMPO}
      .most=${MAX_TEMPO}
      .label=${LABELS.tempo}
      .spoken=${spoken}
      @mh-figure=${(event: FigureEvent) => {
        if (event.value !== null) this.#ask(event.value);
      }}
    ></mh-figure>`;
  }

  #turners(): TemplateResult {
    return html`<div class="turn">
      ${this.#turner('−', LABELS.slower, (from, step) => from - step)}
      ${this.#turner('+', LABELS.faster, (from, step) => from + step)}
      ${this.#turner(LABELS.half, null, (from) => from / 2)} ${this.#turner(LABELS.double, null, (from) => from * 2)}
      <button
        type="button"
        aria-keyshortcuts=${KEY_HINTS.tap.aria}
        @pointerdown=${this.#tap.down}
        @pointercancel=${this.#tap.cancel}
        @click=${this.#tap.click}
      >
        ${LABELS.tap}<kbd aria-hidden="true">${KEY_HINTS.tap.shown}</kbd>
      </button>
      <button
        type="button"
        aria-keyshortcuts=${KEY_HINTS['hear-beat'].aria}
        aria-disabled=${this.running ? 'true' : nothing}
        @click=${this.#hear}
      >
        ${LABELS.hear}<kbd aria-hidden="true">${KEY_HINTS['hear-beat'].shown}</kbd>
      </button>
    </div>`;
  }

  #turner(text: string, label: string | null, turn: (from: number, step: number) => number): TemplateResult {
    const turned = (step: number): number => toHundredths(turn(this.taps?.bpm ?? this.bpm, step));
    return html`<button
      type="button"
      class=${label === null ? '' : 'sign'}
      aria-label=${label ?? nothing}
      aria-disabled=${isPossible(turned(0.1)) ? nothing : 'true'}
      @click=${(event: MouseEvent) => {
        const bpm = turned(event.shiftKey ? 0.1 : 1);
        if (isPossible(bpm)) this.#ask(bpm);
      }}
    >
      ${text}
    </button>`;
  }

  #reading(): TemplateResult {
    const apart = this.taps === null && Math.abs(this.sounding - this.bpm) >= AUDIBLE_DIFFERENCE;
    return html`
      <span class="reading" role="status">${this.taps === null ? nothing : tapWords(this.taps)}</span>
      ${this.#other()} ${apart ? html`<span class="turn">${soundingWords(this.sounding)}</span>` : nothing}
    `;
  }

  /** What the taps may have been instead: eighths, or beats. */
  #other(): TemplateResult | typeof nothing {
    const other = this.taps?.other ?? null;
    if (other === null || this.held || !isPossible(toTenths(other))) return nothing;
    return html`<button
      type="button"
      title=${tempoWords(toTenths(other), this.mark)}
      @click=${() => this.#ask(toTenths(other))}
    >
      ${otherTempoWords(other)}
    </button>`;
  }

  readonly #hear = (event: Event): void => {
    if (!this.running) this.dispatchEvent(new AskEvent({ type: 'hear-beat', timeStamp: event.timeStamp }));
  };

  #ask(bpm: number): void {
    this.dispatchEvent(new AskEvent({ type: 'set-tempo', bpm }));
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'mh-tempo': TempoElement;
  }
}
