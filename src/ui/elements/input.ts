/**
 * `<mh-input>`: what is heard of the player: which input, how loud, and how long sound takes to come round. A press opens a
 * slip on which all of it is changed and measured. What is amiss, what has changed round the sound, and that it is being
 * opened, are said in places that are there before the words, so that they are read out.
 *
 * Properties: `sound`; `channel`, the one in use, from 0; `level`, or null while nothing is read; `trip`, the round trip as it
 * is watched over, or null where nothing does; `devices`, or null while they are looked up; `choice`, the devices and pace in
 * use; `change`, what changed last round the sound, or null.
 * Events: `mh-ask` with `open-sound`, `leave-measuring` where the slip goes while something is measured, and those of the slip.
 */
import { html, LitElement, nothing, type PropertyValues, type TemplateResult } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { RoundTripView } from '../../rehearsal/round-trip-view.js';
import type { SoundChange, SoundChoice, SoundDevices, SoundView } from '../../rehearsal/snapshot.js';
import { AskEvent, type Ask } from '../asks.js';
import type { InputLevel } from '../input-level.js';
import { querySign } from '../engraving/signs.js';
import { KeptFocus } from '../kept-focus.js';
import { base, plainButtons } from '../styles/shared.js';
import {
  changeWords,
  deviceInUse,
  interruptionWords,
  LABELS,
  levelWords,
  processingWords,
  roundTripWords,
  soundRefusedWords,
} from '../words.js';
import { inputStyles } from './input-styles.js';
import type { SlipCloseEvent } from './slip.js';
import './slip.js';

type OpenSound = Extract<SoundView, { state: 'open' }>;

/** `wanted`: pressed for, and being loaded. */
type SlipState = 'closed' | 'wanted' | 'open' | 'not-loaded';

@customElement('mh-input')
export class InputElement extends LitElement {
  static override readonly styles = [base, plainButtons, inputStyles];

  @property({ attribute: false }) sound: SoundView = { state: 'asleep' };
  @property({ type: Number }) channel = 0;
  @property() level: InputLevel | null = null;
  @property({ attribute: false }) trip: RoundTripView | null = null;
  @property({ attribute: false }) devices: SoundDevices | null = null;
  @property({ attribute: false }) choice: SoundChoice = { inputId: null, outputId: null, pace: 'steady' };
  @property({ attribute: false }) change: SoundChange | null = null;
  @state() private slip: SlipState = 'closed';
  #loading: Promise<void> = Promise.resolve();
  #back = false;

  constructor() {
    super();
    // In the place of the button that opens the sound: that it is being opened, then what it is, or why not.
    const found = (selector: string): HTMLElement | null => this.renderRoot.querySelector<HTMLElement>(selector);
    new KeptFocus(this, () => found('button') ?? found('.opening'));
  }

  override willUpdate(changed: PropertyValues): void {
    super.willUpdate(changed);
    if (this.sound.state !== 'open' || this.sound.interruption !== null) this.slip = 'closed';
  }

  override render(): TemplateResult {
    const trouble = this.#trouble();
    const isOpening = this.sound.state === 'opening';
    return html`
      <span class="trouble ${trouble === '' ? 'none' : ''}"
        >${trouble === '' ? nothing : querySign()}<span role="alert">${trouble === '' ? nothing : trouble}</span></span
      >
      <span class="change" role="status">${this.change === null ? nothing : changeWords(this.change)}</span>
      <span class="opening" role="status" tabindex="-1">${isOpening ? LABELS.inputOpening : nothing}</span>
      ${this.#what()}
    `;
  }

  override updated(changed: PropertyValues): void {
    super.updated(changed);
    if (this.slip === 'closed' && this.#back) this.renderRoot.querySelector('button')?.focus();
    this.#back = false;
  }

  /** Complete once what was asked for is loaded and drawn. */
  protected override async getUpdateComplete(): Promise<boolean> {
    const drawn = await super.getUpdateComplete();
    await this.#loading;
    return (await super.getUpdateComplete()) && drawn;
  }

  /** What stands in the way; empty where nothing does. */
  #trouble(): string {
    const { sound } = this;
    if (sound.state === 'refused') return soundRefusedWords(sound.reason);
    if (sound.state !== 'open') return '';
    if (this.slip === 'not-loaded') return LABELS.notLoaded;
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
    const trip = this.trip ?? { ...sound.roundTrip, sure: true };
    return html`
      ${this.level === null ? nothing : html`<span>${LABELS.inputLevel} <span class="level">${levelWords(this.level)}</span></span>`}
      <button
        class="in-use"
        type="button"
        aria-haspopup="dialog"
        aria-expanded=${this.slip === 'open' ? 'true' : 'false'}
        @click=${this.#toggle}
      >
        <span class="device">${deviceInUse(sound.inputName, sound.inputChannels > 1 ? this.channel : null)}</span
        ><span> · ${LABELS.roundTrip} ${roundTripWords(trip)}</span>
      </button>
      ${this.slip === 'open' ? this.#slip(sound) : nothing}
    `;
  }

  #slip(sound: OpenSound): TemplateResult {
    return html`<mh-slip
      .label=${LABELS.soundSlip}
      @mh-slip-close=${(event: SlipCloseEvent) => this.#close(event.back)}
    >
      <mh-sound-slip
        .sound=${sound}
        .channel=${this.channel}
        .devices=${this.devices}
        .choice=${this.choice}
        .trip=${this.trip}
      ></mh-sound-slip>
    </mh-slip>`;
  }

  readonly #toggle = (): void => {
    if (this.slip === 'open') return this.#close(false);
    this.slip = 'wanted';
    this.#loading = this.#load();
  };

  /** A hiss whose end nobody waits for is not gone on with. */
  #close(back: boolean): void {
    if (this.trip !== null && this.trip.measuring !== null) this.#ask({ type: 'leave-measuring' });
    this.slip = 'closed';
    this.#back = back;
    this.requestUpdate();
  }

  async #load(): Promise<void> {
    const isLoaded = await import('./sound-slip.js').then(
      () => true,
      () => false,
    );
    if (this.slip === 'wanted') this.slip = isLoaded ? 'open' : 'not-loaded';
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
