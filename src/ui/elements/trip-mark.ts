/**
 * `<mh-trip-mark>`: a sign over a bar of a layer where something moved: a proofreader's ringed ? where its place is unsure, a
 * small caret where it was put right. A press says what happened, and offers what can be done.
 *
 * Properties: `mark`, by bars of its take; `bar` and `round`, where it is drawn, as `DrawnMark`; `layer`, `layerName`; `rate`;
 * `way`, how a check is made.
 * Events: `mh-ask` with `check` or `realign-from`, whose bar is the take's own; `mh-retake` (`RetakeEvent`); `mh-leave-mark`
 * (`LeaveMarkEvent`).
 */
import { html, LitElement, nothing, type PropertyValues, type TemplateResult } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { LayerId } from '../../core/song/ids.js';
import { millisecondsFromFrames, type SampleRate } from '../../core/units/index.js';
import type { TripMark } from '../../core/watch/alignments.js';
import { AskEvent, type Ask } from '../asks.js';
import { caretSign } from '../engraving/connections.js';
import { querySign } from '../engraving/signs.js';
import { base, plainButtons } from '../styles/shared.js';
import {
  checkHint,
  happenedWords,
  helpsToCheck,
  MARK_LABELS,
  markLabel,
  markState,
  msSpoken,
  repairedWords,
  roundWords,
  type Way,
} from '../words-sound.js';
import type { FigureEvent } from './figure.js';
import type { SlipCloseEvent } from './slip.js';
import { tripMarkStyles } from './trip-mark-styles.js';
import './figure.js';
import './slip.js';

/** The next pass is to be another take of the layer. */
export class RetakeEvent extends Event {
  readonly layer: LayerId;

  constructor(layer: LayerId) {
    super('mh-retake', { bubbles: true, composed: true });
    this.layer = layer;
  }
}

/** It is to be left as it is, and need not be shown any more. */
export class LeaveMarkEvent extends Event {
  readonly layer: LayerId;
  readonly mark: TripMark;

  constructor(layer: LayerId, mark: TripMark) {
    super('mh-leave-mark', { bubbles: true, composed: true });
    this.layer = layer;
    this.mark = mark;
  }
}

/** Further than this nothing is moved by hand: it is played again. */
const MOST_MOVE_MS = 500;
/** Height of the now line, which lies over everything, and a little more; in CSS pixels. */
const PAGE_FOOT = 130;

@customElement('mh-trip-mark')
export class TripMarkElement extends LitElement {
  static override readonly styles = [base, plainButtons, tripMarkStyles];

  @property({ attribute: false }) mark: TripMark | null = null;
  @property({ type: Number }) bar = 0;
  @property({ type: Number }) round = 1;
  @property({ attribute: false }) layer: LayerId | null = null;
  @property() layerName = '';
  @property({ attribute: false }) rate: SampleRate | null = null;
  @property() way: Way = 'air';
  @state() private open = false;
  @state() private ms = 0;
  #back = false;
  #arrives = false;
  #arriving: Promise<void> = Promise.resolve();

  override render(): TemplateResult | typeof nothing {
    const { mark, layer, rate } = this;
    if (mark === null || layer === null || rate === null) return nothing;
    const label = markLabel(this.layerName, this.bar, this.round, mark);
    return html`
      <button
        class="sign"
        type="button"
        aria-label=${label}
        aria-haspopup="dialog"
        aria-expanded=${this.open ? 'true' : 'false'}
        @click=${() => this.#toggle(mark, rate)}
      >
        ${markState(mark) === 'unsure' ? querySign() : caretSign()}
      </button>
      ${this.open ? this.#slip(mark, layer, rate, label) : nothing}
    `;
  }

  override updated(changed: PropertyValues): void {
    super.updated(changed);
    if (!this.open && this.#back) this.renderRoot.querySelector('button')?.focus();
    if (this.open && this.#arrives) this.#arriving = this.#arrive();
    this.#back = false;
    this.#arrives = false;
  }

  /** Complete once the focus is where it goes. */
  protected override async getUpdateComplete(): Promise<boolean> {
    const done = await super.getUpdateComplete();
    await this.#arriving;
    return done;
  }

  #slip(mark: TripMark, layer: LayerId, rate: SampleRate, label: string): TemplateResult {
    const isRead = markState(mark) !== 'being-read';
    const canCheck = helpsToCheck(mark);
    return html`<mh-slip .label=${label} @mh-slip-close=${(event: SlipCloseEvent) => this.#close(event.back)}>
      <p class="happened" tabindex="-1">${roundWords(this.round)}${happenedWords(mark)}</p>
      <p>${repairedWords(mark, rate)}</p>
      ${isRead ? this.#moves(mark, layer) : nothing}
      <div class="do">
        ${isRead ? this.#done(MARK_LABELS.retake, () => this.dispatchEvent(new RetakeEvent(layer))) : nothing}
        ${canCheck ? this.#check() : nothing}
        ${this.#done(MARK_LABELS.leave, () => this.dispatchEvent(new LeaveMarkEvent(layer, mark)))}
      </div>
      ${canCheck ? html`<span class="hint" id="check-hint">${checkHint(this.way)}</span>` : nothing}
    </mh-slip>`;
  }

  #moves({ bar }: TripMark, layer: LayerId): TemplateResult {
    return html`<div class="moves">
      <span>${MARK_LABELS.move}</span>
      <mh-figure
        .value=${this.ms}
        .least=${-MOST_MOVE_MS}
        .most=${MOST_MOVE_MS}
        .decimals=${2}
        .label=${MARK_LABELS.move}
        .spoken=${msSpoken(this.ms)}
        unit="ms"
        @mh-figure=${(event: FigureEvent) => (this.ms = event.value ?? 0)}
      ></mh-figure>
      ${this.#done(MARK_LABELS.doMove, () => this.#ask({ type: 'realign-from', layer, bar, ms: this.ms }), this.ms === 0)}
      <span class="hint">${MARK_LABELS.moveHint}</span>
    </div>`;
  }

  #check(): TemplateResult {
    return html`<button
      type="button"
      aria-describedby="check-hint"
      @click=${() => this.#and(() => this.#ask({ type: 'check', way: this.way }))}
    >
      ${MARK_LABELS.check}
    </button>`;
  }

  /** A button that does something and takes the slip away. */
  #done(words: string, act: () => void, isOff = false): TemplateResult {
    return html`<button
      type="button"
      aria-disabled=${isOff ? 'true' : 'false'}
      @click=${() => {
        if (!isOff) this.#and(act);
      }}
    >
      ${words}
    </button>`;
  }

  #and(act: () => void): void {
    act();
    this.#close(true);
  }

  #toggle({ shift, how }: TripMark, rate: SampleRate): void {
    this.open = !this.open;
    this.#arrives = this.open;
    // What was not believed is a place to begin.
    this.ms = how === 'unknown' && shift !== null ? millisecondsFromFrames(shift, rate) : 0;
  }

  /** The focus goes in once there is something to have it; the slip stays on the page, and clear of its foot. */
  async #arrive(): Promise<void> {
    const slip = this.renderRoot.querySelector('mh-slip');
    await slip?.updateComplete;
    this.renderRoot.querySelector<HTMLElement>('.happened')?.focus();
    if (!slip) return;
    const { right, bottom, height } = slip.getBoundingClientRect();
    slip.classList.toggle('leftwards', right > document.documentElement.clientWidth);
    const above = this.getBoundingClientRect().top;
    slip.classList.toggle('upwards', bottom > window.innerHeight - PAGE_FOOT && height < above);
  }

  #ask(ask: Ask): void {
    this.dispatchEvent(new AskEvent(ask));
  }

  #close(back: boolean): void {
    this.open = false;
    this.#back = back;
    this.requestUpdate();
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'mh-trip-mark': TripMarkElement;
  }
  interface HTMLElementEventMap {
    'mh-retake': RetakeEvent;
    'mh-leave-mark': LeaveMarkEvent;
  }
}
