/**
 * `<mh-tempo>`: the tempo at the head of the first system: a word, the mark, and what changes it. Once something was played
 * over the bars the mark stands as it is.
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
import { KEY_HINTS } from '../keys.js';
import { Moment } from '../moment.js';
import { base, keyHints, plainButtons } from '../styles/shared.js';
import { figure, LABELS, soundingWords, tapWords, tempoWords } from '../words.js';
import type { FigureEvent } from './figure.js';
import './figure.js';

/** Less than this between the tempo asked for and the one that sounds is not worth a word. */
const AUDIBLE_DIFFERENCE = 0.01;

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

      .turn button:not(:disabled) {
        color: var(--ink);
      }

      .sign {
        font-size: 18px;
        line-height: 1;
      }

      .reading {
        color: var(--pencil);
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

  override render(): TemplateResult {
    const spoken = tempoWords(this.bpm, this.mark);
    return html`
      <div class="mark">
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
      ${this.#turner('−', LABELS.slower, (fine) => this.bpm - fine)}
      ${this.#turner('+', LABELS.faster, (fine) => this.bpm + fine)}
      ${this.#turner(LABELS.half, null, () => this.bpm / 2)} ${this.#turner(LABELS.double, null, () => this.bpm * 2)}
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
        ?disabled=${this.running}
        @click=${(event: Event) => this.dispatchEvent(new AskEvent({ type: 'hear-beat', timeStamp: event.timeStamp }))}
      >
        ${LABELS.hear}<kbd aria-hidden="true">${KEY_HINTS['hear-beat'].shown}</kbd>
      </button>
    </div>`;
  }

  #turner(text: string, label: string | null, turned: (step: number) => number): TemplateResult {
    const tempo = (step: number): number => Math.round(turned(step) * 100) / 100;
    const within = (bpm: number): boolean => bpm >= MIN_TEMPO && bpm <= MAX_TEMPO;
    return html`<button
      type="button"
      class=${label === null ? '' : 'sign'}
      aria-label=${label ?? nothing}
      ?disabled=${!within(tempo(0.1))}
      @click=${(event: MouseEvent) => {
        const bpm = tempo(event.shiftKey ? 0.1 : 1);
        if (within(bpm)) this.#ask(bpm);
      }}
    >
      ${text}
    </button>`;
  }

  #reading(): TemplateResult | typeof nothing {
    if (this.taps !== null) return html`<span class="reading" role="status">${tapWords(this.taps)}</span>`;
    const apart = Math.abs(this.sounding - this.bpm) >= AUDIBLE_DIFFERENCE;
    return apart ? html`<span class="turn">${soundingWords(this.sounding)}</span>` : nothing;
  }

  #ask(bpm: number): void {
    this.dispatchEvent(new AskEvent({ type: 'set-tempo', bpm }));
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'mh-tempo': TempoElement;
  }
}
