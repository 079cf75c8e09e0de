/**
 * `<mh-input>`: what is heard of the player: which input, how loud, and how long sound takes to come round.
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
    `,
  ];

  @property({ attribute: false }) sound: SoundView = { state: 'asleep' };
  @property({ type: Number }) channel = 0;
  @property() level: InputLevel | null = null;

  override render(): TemplateResult {
    switch (this.sound.state) {
      case 'asleep':
        return html`<button type="button" @click=${() => this.#ask({ type: 'open-sound' })}>
          ${LABELS.openSound}
        </button>`;
      case 'opening':
        return html`<span role="status">${LABELS.inputOpening}</span>`;
      case 'refused':
        return this.#trouble(soundRefusedWords(this.sound.reason), LABELS.tryAgain);
      case 'open':
        return this.sound.interruption === null
          ? this.#open(this.sound)
          : this.#trouble(interruptionWords(this.sound.interruption), LABELS.openAgain);
      default:
        return this.sound satisfies never;
    }
  }

  #open(sound: OpenSound): TemplateResult {
    const processing = processingWords(sound.processing);
    return html`
      <span class="device">${sound.inputName}</span>
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
      ${processing === '' ? nothing : html`<span class="trouble">${querySign()}<span>${processing}</span></span>`}
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

  #trouble(words: string, action: string): TemplateResult {
    return html`<span class="trouble" role="status">${querySign()}<span>${words}</span></span>
      <button type="button" @click=${() => this.#ask({ type: 'open-sound' })}>${action}</button>`;
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
