/**
 * `<mh-input>`: what is heard of the player: which input, how loud, and how long sound takes to come round. What is amiss,
 * and that the sound is being opened, are said in places that are there before the words, so that they are read out.
 *
 * Properties: `sound`; `channel`, the one in use, from 0; `level`, or null while nothing is read.
 * Events: `mh-ask` with `open-sound`, `use-channel` or `state-round-trip`.
 */
import { css, html, LitElement, nothing, type TemplateResult } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { SoundView } from '../../rehearsal/snapshot.js';
import { AskEvent, type Ask } from '../asks.js';
import type { InputLevel } from '../input-level.js';
import { querySign } from '../engraving/signs.js';
import { KeptFocus } from '../kept-focus.js';
import { base, plainButtons } from '../styles/shared.js';
import {
  channelLabel,
  figure,
  interruptionWords,
  LABELS,
  levelWords,
  processingWords,
  roundTripHow,
  soundRefusedWords,
} from '../words.js';
import type { FigureEvent } from './figure.js';
import './figure.js';

type OpenSound = Extract<SoundView, { state: 'open' }>;

/** A round trip longer than this is no round trip (common practice, no source). */
const MOST_ROUND_TRIP_MS = 2000;

@customElement('mh-input')
export class InputElement extends LitElement {
  static override readonly styles = [
    base,
    plainButtons,
    css`
      :host {
        display: flex;
        flex-wrap: wrap;
        gap: 4px 18px;
        justify-content: flex-end;
        align-items: baseline;
        color: var(--soft);
        font-size: 14px;
      }

      .channels {
        display: inline-flex;
        gap: 6px;
        align-items: baseline;
      }

      button {
        color: var(--ink);
      }

      button[aria-pressed='false'] {
        border-bottom-color: transparent;
        color: var(--soft);
      }

      .device {
        max-width: 22em;
        overflow: hidden;
        text-overflow: ellipsis;
        white-space: nowrap;
      }

      mh-figure,
      .level {
        color: var(--ink);
      }

      .trouble {
        display: flex;
        flex-basis: 100%;
        justify-content: flex-end;
        gap: 9px;
        align-items: center;
        color: var(--ink);
      }

      @media (width < 720px) {
        :host,
        .trouble {
          justify-content: flex-start;
        }
      }

      .trouble svg {
        flex: none;
      }

      .trouble.none,
      .opening:empty {
        position: absolute;
      }
    `,
  ];

  @property({ attribute: false }) sound: SoundView = { state: 'asleep' };
  @property({ type: Number }) channel = 0;
  @property() level: InputLevel | null = null;

  constructor() {
    super();
    // In the place of the button that opens the sound: that it is being opened, then the round trip, or why not.
    const found = (selector: string): HTMLElement | null => this.renderRoot.querySelector<HTMLElement>(selector);
    new KeptFocus(this, () => found('mh-figure') ?? found('button') ?? found('.opening'));
  }

  override render(): TemplateResult {
    const trouble = this.#trouble();
    const isOpening = this.sound.state === 'opening';
    return html`
      <span class="trouble ${trouble === '' ? 'none' : ''}"
        >${trouble === '' ? nothing : querySign()}<span role="alert">${trouble === '' ? nothing : trouble}</span></span
      >
      <span class="opening" role="status" tabindex="-1">${isOpening ? LABELS.inputOpening : nothing}</span>
      ${this.#what()}
    `;
  }

  /** What stands in the way; empty where nothing does. */
  #trouble(): string {
    const { sound } = this;
    if (sound.state === 'refused') return soundRefusedWords(sound.reason);
    if (sound.state !== 'open') return '';
    return sound.interruption === null ? processingWords(sound.processing) : interruptionWords(sound.interruption);
  }

  #what(): TemplateResult | typeof nothing {
    const { sound } = this;
    switch (sound.state) {
      case 'asleep':
        return this.#opener(LABELS.openSound);
      case 'opening':
        return nothing;
      case 'refused':
        return this.#opener(LABELS.tryAgain);
      case 'open':
        return sound.interruption === null ? this.#open(sound) : this.#opener(LABELS.openAgain);
      default:
        return sound satisfies never;
    }
  }

  #opener(words: string): TemplateResult {
    return html`<button type="button" @click=${() => this.#ask({ type: 'open-sound' })}>${words}</button>`;
  }

  #open(sound: OpenSound): TemplateResult {
    return html`
      <span class="device">${sound.inputName === '' ? LABELS.inputUnnamed : sound.inputName}</span>
      ${sound.inputChannels > 1 ? this.#channels(sound.inputChannels) : nothing}
      ${this.level === null ? nothing : html`<span>${LABELS.inputLevel} <span class="level">${levelWords(this.level)}</span></span>`}
      <span>
        ${LABELS.roundTrip}
        <mh-figure
          .value=${sound.roundTrip.ms}
          .least=${0}
          .most=${MOST_ROUND_TRIP_MS}
          .decimals=${1}
          .label=${LABELS.roundTrip}
          .spoken=${`${figure(sound.roundTrip.ms, 1)} ms, ${roundTripHow(sound.roundTrip.how)}`}
          unit="ms"
          clearable
          @mh-figure=${(event: FigureEvent) => this.#ask({ type: 'state-round-trip', ms: event.value })}
        ></mh-figure
        >, ${roundTripHow(sound.roundTrip.how)}
      </span>
    `;
  }

  #channels(count: number): TemplateResult {
    return html`<span class="channels" role="group" aria-label=${LABELS.input}>
      <span aria-hidden="true">${LABELS.input}</span>
      ${Array.from(
        { length: count },
        (_, channel) =>
          html`<button
            type="button"
            aria-pressed=${channel === this.channel ? 'true' : 'false'}
            @click=${() => this.#ask({ type: 'use-channel', channel })}
          >
            ${channelLabel(channel)}
          </button>`,
      )}
    </span>`;
  }

  #ask(ask: Ask): void {
    this.dispatchEvent(new AskEvent(ask));
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'mh-input': InputElement;
  }
}
