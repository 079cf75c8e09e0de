/**
 * `<mh-round-trip>`: the round trip: what it is taken for and how surely, why it matters, and its being measured or checked.
 * What comes of it is said in places that are there before the words.
 *
 * Properties: `sound`, open; `channel`, the one in use, from 0; `trip`, or null where nothing watches over it: then it can
 * only be stated.
 * Events: `mh-ask` with `state-round-trip`, `measure`, `check`, `leave-measuring` or `use-channel`.
 */
import { html, LitElement, nothing, type PropertyValues, type TemplateResult } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { live } from 'lit/directives/live.js';
import { framesFromMilliseconds } from '../../core/units/index.js';
import type { MeasuringRefusal } from '../../rehearsal/round-trip-view.js';
import type { RoundTripView } from '../../rehearsal/round-trip-view.js';
import type { SoundView } from '../../rehearsal/snapshot.js';
import { AskEvent, type Ask } from '../asks.js';
import { cablePicture, earpiecePicture } from '../engraving/connections.js';
import { pencilRing } from '../engraving/signs.js';
import { KeptFocus } from '../kept-focus.js';
import { base, plainButtons } from '../styles/shared.js';
import { roundTripHow } from '../words.js';
import {
  adviceWords,
  CAUTION_BEFORE_SOUND,
  certaintyWords,
  EXPLAINED,
  foundWords,
  framesWord,
  helpsToBeLouder,
  measuringRefusedWords,
  msWords,
  progressWords,
  sourceWords,
  TRIP_LABELS,
  useInputWords,
  WAYS,
  type Way,
} from '../words-sound.js';
import type { FigureEvent } from './figure.js';
import { queried, queriedStyles } from './queried.js';
import { roundTripStyles } from './round-trip-styles.js';
import './figure.js';

type OpenSound = Extract<SoundView, { state: 'open' }>;

/** A round trip longer than this is no round trip (common practice, no source). */
const MOST_ROUND_TRIP_MS = 2000;
/** One step louder, and no louder than music may be: the rehearsal holds the same limit. */
const LOUDER_DB = 6;
const LOUDEST_DBFS = -12;
const BOTH: readonly Way[] = ['cable', 'air'];

@customElement('mh-round-trip')
export class RoundTripElement extends LitElement {
  static override readonly styles = [base, plainButtons, queriedStyles, roundTripStyles];

  @property({ attribute: false }) sound: OpenSound | null = null;
  @property({ type: Number }) channel = 0;
  @property({ attribute: false }) trip: RoundTripView | null = null;
  @state() private way: Way = 'cable';

  constructor() {
    super();
    new KeptFocus(this, () => this.renderRoot.querySelector<HTMLElement>('.do button'));
  }

  override willUpdate(changed: PropertyValues): void {
    super.willUpdate(changed);
    if (!this.hasUpdated && this.trip?.how === 'measured') this.way = 'air';
  }

  override render(): TemplateResult | typeof nothing {
    const { sound, trip } = this;
    if (sound === null) return nothing;
    return html`${this.#mark(sound)} ${trip === null ? nothing : this.#measuring(sound, trip)}`;
  }

  #mark(sound: OpenSound): TemplateResult {
    const { ms, how } = this.trip ?? sound.roundTrip;
    return html`<div class="mark">
      <h2>
        ${TRIP_LABELS.title} <span aria-hidden="true">=</span>
        <mh-figure
          .value=${ms}
          .least=${0}
          .most=${MOST_ROUND_TRIP_MS}
          .decimals=${2}
          .label=${TRIP_LABELS.figure}
          .spoken=${`${msWords(ms)}, ${roundTripHow(how)}`}
          unit="ms"
          clearable
          @mh-figure=${(event: FigureEvent) => this.#ask({ type: 'state-round-trip', ms: event.value })}
        ></mh-figure>
      </h2>
      <span class="known">${framesWord(framesFromMilliseconds(ms, sound.sampleRate))}, ${this.#known()}</span>
    </div>`;
  }

  #known(): string {
    const { trip, sound } = this;
    if (sound === null) return '';
    if (trip === null) return roundTripHow(sound.roundTrip.how);
    return `${sourceWords(trip, new Date())}. ${certaintyWords(trip, sound.sampleRate)}`;
  }

  #measuring(sound: OpenSound, trip: RoundTripView): TemplateResult {
    return html`
      <div class="advice" role="status">${queried(adviceWords(trip.advice, trip))}</div>
      <p class="explained">${EXPLAINED}</p>
      <div class="ways" role="radiogroup" aria-label=${TRIP_LABELS.ways}>${BOTH.map((way) => this.#way(way))}</div>
      <p class="caution">${CAUTION_BEFORE_SOUND}</p>
      <div class="do">
        ${trip.measuring === null ? this.#offers(trip) : this.#leave()}
        <span class="going" role="status">${trip.measuring === null ? nothing : progressWords(trip.measuring)}</span>
      </div>
      <div class="outcome" role="status">${this.#outcome(sound, trip)}</div>
    `;
  }

  #way(way: Way): TemplateResult {
    const { name, how, picture } = WAYS[way];
    return html`<label class="way">
      <input
        type="radio"
        name="way"
        aria-label=${name}
        aria-describedby="how-${way}"
        .checked=${live(this.way === way)}
        @change=${() => (this.way = way)}
      />
      <span class="drawing">${way === 'cable' ? cablePicture(picture) : earpiecePicture(picture)}${pencilRing()}</span>
      <span class="caption">${name}</span><span class="how" id="how-${way}">${how}</span>
    </label>`;
  }

  #offers({ how, level, outcome }: RoundTripView): TemplateResult {
    const why = outcome?.type === 'refused' ? outcome.why : null;
    const canBeLouder = why !== null && helpsToBeLouder(why) && level < LOUDEST_DBFS;
    const louder = Math.min(LOUDEST_DBFS, level + LOUDER_DB);
    return html`
      <button class="first" type="button" @click=${() => this.#measure(level)}>${TRIP_LABELS.measure}</button>
      ${canBeLouder ? this.#button(TRIP_LABELS.louder, () => this.#measure(louder)) : nothing}
      ${why?.type === 'wrong-channel' ? this.#useOther(why) : nothing}
      ${how === 'estimated' ? nothing : this.#button(TRIP_LABELS.check, () => this.#ask({ type: 'check', way: this.way }))}
    `;
  }

  #useOther({ channel }: Extract<MeasuringRefusal, { type: 'wrong-channel' }>): TemplateResult {
    return this.#button(useInputWords(channel), () => this.#ask({ type: 'use-channel', channel }));
  }

  #leave(): TemplateResult {
    return this.#button(TRIP_LABELS.leave, () => this.#ask({ type: 'leave-measuring' }));
  }

  #outcome({ sampleRate }: OpenSound, { outcome, measuring }: RoundTripView): TemplateResult | typeof nothing {
    if (outcome === null || measuring !== null) return nothing;
    if (outcome.type !== 'refused') return html`<p>${foundWords(outcome, sampleRate)}</p>`;
    const given = { way: this.way, channel: this.channel, rate: sampleRate, kind: outcome.kind };
    return queried(measuringRefusedWords(outcome.why, given));
  }

  #button(words: string, act: () => void): TemplateResult {
    return html`<button type="button" @click=${act}>${words}</button>`;
  }

  #measure(level: number): void {
    this.#ask({ type: 'measure', way: this.way, level });
  }

  #ask(ask: Ask): void {
    this.dispatchEvent(new AskEvent(ask));
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'mh-round-trip': RoundTripElement;
  }
}
