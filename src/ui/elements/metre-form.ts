/**
 * `<mh-metre-form>`: a metre being decided. Every metre can be written; how it is felt is a sum ("2+2+3"), with the usual
 * ones offered.
 *
 * Properties: `metre`, `mark`: where to begin.
 * Events: `mh-ask` with `set-metre`; `mh-leave` (plain) where nothing is to change.
 */
import { css, html, LitElement, nothing, type PropertyValues, type TemplateResult } from 'lit';
import { customElement, property, query, state } from 'lit/decorators.js';
import type { Metre, NoteValue, PulseValue } from '../../core/meter/metre.js';
import { checkMetre, defaultMetre, markChoices, parseGroups, PULSE_VALUES } from '../../core/meter/metres.js';
import { MAX_PULSES, MIN_PULSES } from '../../core/song/limits.js';
import { AskEvent } from '../asks.js';
import { usualGroupings } from '../groupings.js';
import { base, fields, plainButtons } from '../styles/shared.js';
import { editRefusedWords, gapsWords, LABELS, noteWords, outOfRangeWords } from '../words.js';

@customElement('mh-metre-form')
export class MetreFormElement extends LitElement {
  static override readonly styles = [
    base,
    plainButtons,
    fields,
    css`
      form {
        display: grid;
        grid-template-columns: auto 1fr;
        gap: 10px 16px;
        align-items: baseline;
        margin: 0;
      }

      input {
        width: 7.5em;
        border-bottom-width: 1.4px;
        border-bottom-color: var(--edge);
      }

      input:focus {
        border-bottom-color: var(--pencil);
      }

      #num {
        width: 3em;
      }

      select {
        border-bottom-color: var(--edge);
      }

      .usual {
        display: flex;
        flex-wrap: wrap;
        gap: 4px 12px;
        margin-top: 6px;
        color: var(--soft);
        font-size: 14px;
      }

      .wrong {
        grid-column: 1 / -1;
        margin: 0;
      }

      /* There before its words, so that they are read out when they come; and taking no row. */
      .wrong:empty {
        position: absolute;
      }

      .acts {
        display: flex;
        grid-column: 1 / -1;
        gap: 20px;
        justify-content: flex-end;
        margin-top: 4px;
      }

      .do {
        border-bottom-color: currentcolor;
        color: var(--pencil);
      }
    `,
  ];

  @property({ attribute: false }) metre: Metre = { num: 4, den: 4, groups: [1, 1, 1, 1] };
  @property({ attribute: false }) mark: NoteValue = { num: 1, den: 4 };
  @state() private num = '4';
  @state() private den: PulseValue = 4;
  @state() private groups = '1+1+1+1';
  @state() private counted: NoteValue = { num: 1, den: 4 };
  @state() private wrong = '';
  @query('#den') private readonly valueChoice!: HTMLSelectElement | null;
  @query('#mark') private readonly markChoice!: HTMLSelectElement | null;

  override willUpdate(changed: PropertyValues): void {
    super.willUpdate(changed);
    if (!changed.has('metre')) return;
    this.num = String(this.metre.num);
    this.den = this.metre.den;
    this.groups = this.metre.groups.join('+');
    this.counted = this.mark;
  }

  override firstUpdated(changed: PropertyValues): void {
    super.firstUpdated(changed);
    this.renderRoot.querySelector<HTMLInputElement>('#num')?.select();
  }

  /** A browser only knows the options of a choice once they are there. */
  override updated(changed: PropertyValues): void {
    super.updated(changed);
    if (this.valueChoice) this.valueChoice.value = String(this.den);
    if (this.markChoice) this.markChoice.value = `${this.counted.num}/${this.counted.den}`;
  }

  override render(): TemplateResult {
    const metre = this.#read();
    const choices = metre === null ? [this.counted] : withChosen(markChoices(metre), this.counted);
    return html`<form @submit=${this.#set}>
      <label for="num">${LABELS.pulses}</label>
      <span>
        <input id="num" inputmode="numeric" autocomplete="off" .value=${this.num} @input=${this.#numTyped} />
        <label for="den">${LABELS.pulseValue}</label>
        <select id="den" @change=${this.#denChosen}>
          ${PULSE_VALUES.map((den) => html`<option value=${den}>${den}</option>`)}
        </select>
      </span>
      <label for="groups">${LABELS.groups}</label>
      <span>
        <input
          id="groups"
          autocomplete="off"
          aria-describedby="wrong"
          aria-invalid=${this.wrong === '' ? 'false' : 'true'}
          placeholder=${LABELS.groupsHint}
          .value=${this.groups}
          @input=${this.#groupsTyped}
        />
        ${this.#usual()}
      </span>
      <label for="mark">${LABELS.mark}</label>
      <select id="mark" @change=${this.#markChosen}>
        ${choices.map((choice) => html`<option value="${choice.num}/${choice.den}">${noteWords(choice)}s</option>`)}
      </select>
      <p id="wrong" class="wrong" role="alert">${this.wrong === '' ? nothing : this.wrong}</p>
      <div class="acts">
        <button type="button" @click=${() => this.dispatchEvent(new Event('mh-leave'))}>${LABELS.leave}</button>
        <button class="do" type="submit">${LABELS.setMetre}</button>
      </div>
    </form>`;
  }

  #usual(): TemplateResult | typeof nothing {
    const pulses = Number(this.num);
    const usual = isPulses(pulses) ? usualGroupings(pulses, this.den).map((groups) => groups.join('+')) : [];
    if (usual.length < 2) return nothing;
    return html`<div class="usual">
      ${usual.map((groups) => html`<button type="button" @click=${() => this.#felt(groups)}>${groups}</button>`)}
    </div>`;
  }

  readonly #numTyped = (event: Event): void => {
    this.num = valueOf(event);
    this.#startAgain();
  };

  readonly #denChosen = (event: Event): void => {
    this.den = PULSE_VALUES.find((den) => String(den) === valueOf(event)) ?? this.den;
    this.#startAgain();
  };

  readonly #groupsTyped = (event: Event): void => {
    this.#felt(valueOf(event));
  };

  readonly #markChosen = (event: Event): void => {
    const [num, den] = valueOf(event).split('/').map(Number);
    const pulse = PULSE_VALUES.find((value) => value === den);
    if (num !== undefined && pulse !== undefined) this.counted = { num, den: pulse };
  };

  readonly #set = (event: Event): void => {
    event.preventDefault();
    const metre = this.#read();
    if (metre !== null) this.dispatchEvent(new AskEvent({ type: 'set-metre', metre, mark: this.counted }));
    else this.wrong = this.#why();
  };

  #why(): string {
    const pulses = Number(this.num);
    if (!isPulses(pulses)) return `${LABELS.pulses}: ${outOfRangeWords(MIN_PULSES, MAX_PULSES)}`;
    const groups = parseGroups(this.groups);
    const adds = groups.ok && groups.value.reduce((sum, group) => sum + group, 0) === pulses;
    return adds ? editRefusedWords('metre-out-of-range') : gapsWords(this.groups, pulses);
  }

  /** Another bar is felt as such bars usually are. */
  #startAgain(): void {
    this.wrong = '';
    const pulses = Number(this.num);
    if (!isPulses(pulses)) return;
    const usual = defaultMetre(pulses, this.den);
    this.groups = usual.metre.groups.join('+');
    this.counted = usual.mark;
  }

  #felt(groups: string): void {
    this.groups = groups;
    this.wrong = '';
    const metre = this.#read();
    if (metre !== null) this.counted = markChoices(metre)[0];
  }

  #read(): Metre | null {
    const groups = parseGroups(this.groups);
    if (!groups.ok) return null;
    const metre = checkMetre({ num: Number(this.num), den: this.den, groups: groups.value });
    return metre.ok ? metre.value : null;
  }
}

const valueOf = (event: Event): string => (event.target as HTMLInputElement | HTMLSelectElement).value;
const isPulses = (value: number): boolean => Number.isInteger(value) && value >= MIN_PULSES && value <= MAX_PULSES;
const same = (a: NoteValue, b: NoteValue): boolean => a.num === b.num && a.den === b.den;
const withChosen = (choices: readonly NoteValue[], chosen: NoteValue): readonly NoteValue[] =>
  choices.some((choice) => same(choice, chosen)) ? choices : [...choices, chosen];

declare global {
  interface HTMLElementTagNameMap {
    'mh-metre-form': MetreFormElement;
  }
}
