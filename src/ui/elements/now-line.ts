/**
 * `<mh-now-line>`: the foot of the chart: the beat, what is happening and what happens next in words, and what can be asked.
 * The one switch is ringed in pencil; everything else is plain.
 *
 * Properties: `transport`; `notice`; `metre`; `clickOn`; `canTakeBack`, `canPutBack`: the edits, or null.
 * Methods: `point(position, calm)`, once a frame.
 * Events: `mh-ask` with `press`, `stop`, `take-back`, `put-back`, `keep-that`, `turn-click` or `dismiss-notice`.
 */
import { html, LitElement, nothing, type TemplateResult } from 'lit';
import { customElement, property, query } from 'lit/decorators.js';
import { keyed } from 'lit/directives/keyed.js';
import type { Metre } from '../../core/meter/metre.js';
import type { Edit } from '../../core/song/edits.js';
import type { Notice, Position, TransportView } from '../../rehearsal/snapshot.js';
import { AskEvent, type Ask } from '../asks.js';
import { pencilRing, querySign, stateSign } from '../engraving/signs.js';
import { KeptFocus } from '../kept-focus.js';
import { KEY_HINTS, type Command } from '../keys.js';
import { Moment } from '../moment.js';
import {
  barWords,
  isProblem,
  LABELS,
  nextWords,
  noticeWords,
  putsBackWords,
  stateWords,
  switchWords,
  takesBackWords,
} from '../words.js';
import type { BeatElement } from './beat.js';
import { nowLineStyles } from './now-line-styles.js';
import './beat.js';

@customElement('mh-now-line')
export class NowLineElement extends LitElement {
  static override readonly styles = nowLineStyles;

  @property({ attribute: false }) transport: TransportView = {
    state: 'stopped',
    bar: null,
    bars: null,
    layerName: null,
    next: 'nothing',
    pressMeans: 'record',
  };
  @property({ attribute: false }) notice: Notice | null = null;
  @property({ attribute: false }) metre: Metre = { num: 4, den: 4, groups: [1, 1, 1, 1] };
  @property({ type: Boolean }) clickOn = true;
  @property({ attribute: false }) canTakeBack: Edit | null = null;
  @property({ attribute: false }) canPutBack: Edit | null = null;
  @query('mh-beat') private readonly beat!: BeatElement | null;
  readonly #press = new Moment((timeStamp) => this.#ask({ type: 'press', timeStamp }));

  constructor() {
    super();
    new KeptFocus(this, () => this.renderRoot.querySelector<HTMLElement>('.do'));
  }

  /** `calm` steps from beat to beat. */
  point(position: Position, calm: boolean): void {
    if (this.transport.state === 'stopped') this.beat?.rest();
    else this.beat?.point(position.beat, calm ? 0 : position.beatPhase);
  }

  override render(): TemplateResult {
    const bar = barWords(this.transport);
    return html`
      ${this.#notice()}
      <div class="line">
        <mh-beat .metre=${this.metre}></mh-beat>
        <div class="words">
          <p class="say">
            ${stateSign(this.transport.state)}<span
              >${stateWords(this.transport)}${bar === '' ? nothing : html` <span class="bar">· ${bar}</span>`}</span
            >
          </p>
          <p class="then">${nextWords(this.transport)}</p>
          <p class="spoken" role="status">${stateWords(this.transport)}. ${nextWords(this.transport)}</p>
        </div>
        <div class="acts" role="group" aria-label=${LABELS.actions}>
          <div class="plain">${this.#plain()}</div>
          ${this.#switch()}
        </div>
      </div>
    `;
  }

  /** Its places are there before the words, so that these are read out when they come, and again when they come again. */
  #notice(): TemplateResult {
    const { notice } = this;
    const isAmiss = notice !== null && isProblem(notice);
    const words = notice === null ? nothing : keyed(notice, html`<span>${noticeWords(notice)}</span>`);
    return html`<div class="notice ${notice === null ? 'none' : ''}">
      ${isAmiss ? querySign() : nothing}
      <span role="status">${isAmiss ? nothing : words}</span>
      <span role="alert">${isAmiss ? words : nothing}</span>
      ${
        notice === null
          ? nothing
          : html`<button type="button" @click=${() => this.#ask({ type: 'dismiss-notice' })}>${LABELS.dismiss}</button>`
      }
    </div>`;
  }

  #plain(): TemplateResult {
    const passes = this.transport.state !== 'stopped' && this.transport.state !== 'playing';
    const back = passes || this.canTakeBack === null ? null : takesBackWords(this.canTakeBack);
    const forth = this.canPutBack === null ? null : putsBackWords(this.canPutBack);
    return html`
      ${this.#action('take-back', LABELS.takeBack, back, !passes && this.canTakeBack === null)}
      ${this.#action('put-back', LABELS.putBack, forth, this.canPutBack === null)}
      ${this.#action('keep-that', LABELS.keepThat, null, passes)}
      ${this.#action('turn-click', this.clickOn ? LABELS.clickOut : LABELS.clickIn, null, false)}
      ${this.#action('stop', LABELS.stop, null, this.transport.state === 'stopped')}
    `;
  }

  #action(
    command: Exclude<Command, 'press' | 'tap' | 'hear-beat'>,
    text: string,
    name: string | null,
    idle: boolean,
  ): TemplateResult {
    return html`<button
      type="button"
      aria-label=${name ?? nothing}
      aria-keyshortcuts=${KEY_HINTS[command].aria}
      aria-disabled=${idle ? 'true' : nothing}
      @click=${(event: Event) => {
        if (idle) return;
        const timed = command === 'stop' || command === 'take-back' || command === 'keep-that';
        this.#ask(timed ? { type: command, timeStamp: event.timeStamp } : { type: command });
      }}
    >
      ${text}<kbd aria-hidden="true">${KEY_HINTS[command].shown}</kbd>
    </button>`;
  }

  #switch(): TemplateResult {
    return html`<button
      class="do"
      type="button"
      aria-keyshortcuts=${KEY_HINTS.press.aria}
      @pointerdown=${this.#press.down}
      @pointercancel=${this.#press.cancel}
      @click=${this.#press.click}
    >
      ${pencilRing()}${switchWords(this.transport.pressMeans)}<kbd aria-hidden="true">${KEY_HINTS.press.shown}</kbd>
    </button>`;
  }

  #ask(ask: Ask): void {
    this.dispatchEvent(new AskEvent(ask));
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'mh-now-line': NowLineElement;
  }
}
