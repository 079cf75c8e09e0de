/**
 * `<mh-input>`: what is heard of the player: which input, how loud, and how long sound takes to come round. A press opens a
 * slip on which all of it is changed and measured; where the sound was refused or went away, on which another device is
 * chosen. What is amiss, what has changed round the sound, and that it is being opened, are said in places that are there
 * before the words, so that they are read out.
 *
 * Properties: `sound`; `channel`, the one in use, from 0; `level`, or null while nothing is read; `trip`, the round trip as it
 * is watched over, or null where nothing does; `devices`, or null where they are not known; `choice`, the devices and pace in
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
import { deviceInUse, LABELS, levelWords, roundTripWords } from '../words.js';
import { inputStyles } from './input-styles.js';
import type { SoundRefusal } from '../words-trouble.js';
import type { SlipCloseEvent } from './slip.js';
import './slip.js';

type OpenSound = Extract<SoundView, { state: 'open' }>;
type TroubleWords = typeof import('../words-trouble.js');

/** `wanted`: pressed for, and being loaded. */
type SlipState = 'closed' | 'wanted' | 'open' | 'not-loaded';

/** No other device would help. */
const NOT_OF_DEVICES: ReadonlySet<SoundRefusal> = new Set(['no-worklets', 'not-secure', 'engine-failed']);

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
  @state() private words: TroubleWords | 'not-loaded' | null = null;
  #loading: Promise<void> = Promise.resolve();
  /** The words for what is amiss: asked for once. */
  #isWanted = false;
  /** The choice that the sound was opened with, or refused. */
  #asked = this.choice;
  #back = false;

  constructor() {
    super();
    // In the place of the button that opens the sound: that it is being opened, then what it is, or why not.
    const found = (selector: string): HTMLElement | null => this.renderRoot.querySelector<HTMLElement>(selector);
    new KeptFocus(this, () => found('button') ?? found('.opening'));
  }

  override willUpdate(changed: PropertyValues): void {
    super.willUpdate(changed);
    const before = changed.get('sound') as SoundView | undefined;
    if (changed.has('sound') && !(before !== undefined && isAlike(before, this.sound))) {
      this.slip = 'closed';
      this.#asked = this.choice;
    }
    if (!this.#isWanted && this.sound.state !== 'asleep') this.#loading = this.#loadWords();
  }

  override render(): TemplateResult {
    const trouble = this.#trouble();
    const isOpening = this.sound.state === 'opening';
    return html`
      <span class="trouble ${trouble === '' ? 'none' : ''}"
        >${trouble === '' ? nothing : querySign()}<span role="alert">${trouble === '' ? nothing : trouble}</span></span
      >
      <span class="change" role="status">${this.change === null ? nothing : this.#changed(this.change)}</span>
      <span class="opening" role="status" tabindex="-1">${isOpening ? LABELS.inputOpening : nothing}</span>
      ${this.#what()}
    `;
  }

  override updated(changed: PropertyValues): void {
    super.updated(changed);
    if (this.slip === 'closed' && this.#back) this.renderRoot.querySelector<HTMLElement>('[aria-haspopup]')?.focus();
    this.#back = false;
  }

  /** Complete once what was asked for is loaded and drawn. */
  protected override async getUpdateComplete(): Promise<boolean> {
    const drawn = await super.getUpdateComplete();
    await this.#loading;
    return (await super.getUpdateComplete()) && drawn;
  }

  /** Since the refusal: it says nothing about what is chosen now. */
  get #isChosenAnew(): boolean {
    const { inputId, outputId, pace } = this.choice;
    return inputId !== this.#asked.inputId || outputId !== this.#asked.outputId || pace !== this.#asked.pace;
  }

  /** What stands in the way; empty where nothing does, and until its words are there. */
  #trouble(): string {
    const { sound, words } = this;
    if (this.slip === 'not-loaded') return LABELS.notLoaded;
    if (words === null || sound.state === 'asleep' || sound.state === 'opening') return '';
    const isAmiss = sound.state === 'refused' || sound.interruption !== null;
    if (words === 'not-loaded') return isAmiss ? LABELS.notLoaded : '';
    if (sound.state === 'refused') {
      return this.#isChosenAnew ? words.TROUBLE_LABELS.chosenAnew : words.soundRefusedWords(sound.reason, this.choice);
    }
    return sound.interruption === null
      ? words.processingWords(sound.processing)
      : words.interruptionWords(sound.interruption);
  }

  #changed(change: SoundChange): string | typeof nothing {
    const { words } = this;
    return words === null || words === 'not-loaded' ? nothing : words.changeWords(change);
  }

  #what(): TemplateResult | typeof nothing {
    const { sound } = this;
    switch (sound.state) {
      case 'asleep':
        return this.#opener(LABELS.openSound);
      case 'opening':
        return nothing;
      case 'refused':
        return html`${this.#opener(LABELS.tryAgain)} ${this.#useDefault(sound.reason)}
        ${NOT_OF_DEVICES.has(sound.reason) ? nothing : this.#choosing()}`;
      case 'open':
        if (sound.interruption === null) return this.#open(sound);
        return html`${this.#opener(LABELS.openAgain)} ${this.#choosing()}`;
      default:
        return sound satisfies never;
    }
  }

  /** Instead of the device that was chosen and is not there. */
  #useDefault(reason: SoundRefusal): TemplateResult | typeof nothing {
    const { words } = this;
    if (words === null || words === 'not-loaded') return nothing;
    const side = words.goneSide(reason, this.choice);
    if (side === null || this.#isChosenAnew) return nothing;
    return html`<button type="button" @click=${() => this.#openDefault(side)}>
      ${words.TROUBLE_LABELS.useDefault}
    </button>`;
  }

  #openDefault(side: 'input' | 'output'): void {
    this.#ask({ type: side === 'input' ? 'use-input' : 'use-output', id: null });
    this.#ask({ type: 'open-sound' });
  }

  /** What is played into and heard from, while there is no sound. */
  #choosing(): TemplateResult {
    return html`${this.#slipButton('', html`${LABELS.inOut}`)} ${this.#slip(null)}`;
  }

  #opener(words: string): TemplateResult {
    return html`<button type="button" @click=${() => this.#ask({ type: 'open-sound' })}>${words}</button>`;
  }

  #open(sound: OpenSound): TemplateResult {
    const trip = this.trip ?? { ...sound.roundTrip, sure: true };
    return html`
      ${this.level === null ? nothing : html`<span>${LABELS.inputLevel} <span class="level">${levelWords(this.level)}</span></span>`}
      ${this.#slipButton(
        'in-use',
        html`<span class="device">${deviceInUse(sound.inputName, sound.inputChannels > 1 ? this.channel : null)}</span
          ><span> · ${LABELS.roundTrip} ${roundTripWords(trip)}</span>`,
      )}
      ${this.#slip(sound)}
    `;
  }

  #slipButton(name: string, words: TemplateResult): TemplateResult {
    return html`<button
      class=${name}
      type="button"
      aria-haspopup="dialog"
      aria-expanded=${this.slip === 'open' ? 'true' : 'false'}
      @click=${this.#toggle}
    >
      ${words}
    </button>`;
  }

  #slip(sound: OpenSound | null): TemplateResult | typeof nothing {
    if (this.slip !== 'open') return nothing;
    return html`<mh-slip
      class=${sound === null ? 'narrow' : ''}
      .label=${sound === null ? LABELS.inOut : LABELS.soundSlip}
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
    this.#loading = Promise.all([this.#loading, this.#load()]).then(() => undefined);
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

  async #loadWords(): Promise<void> {
    this.#isWanted = true;
    this.words = await import('../words-trouble.js').catch(() => 'not-loaded' as const);
  }

  #ask(ask: Ask): void {
    this.dispatchEvent(new AskEvent(ask));
  }
}

/** Whether the same slip belongs to both. */
function isAlike(a: SoundView, b: SoundView): boolean {
  const gone = (view: SoundView): boolean => view.state === 'open' && view.interruption !== null;
  return a.state === b.state && gone(a) === gone(b);
}

declare global {
  interface HTMLElementTagNameMap {
    'mh-input': InputElement;
  }
}
