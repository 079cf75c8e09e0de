/**
 * `<mh-devices>`: what is played into and heard from: the input, its channels, the output, and how long a buffer lies
 * between.
 *
 * Properties: `sound`, or null while none is open; `channel`, the one in use, from 0; `devices`, or null while they are looked up;
 * without sound nothing is looked up, and what is known is the default and what was chosen; `choice`; `advice`,
 * whether they are fit for layering; `spare`, the input that a reference comes back on, or null; `clocks`, how far theirs
 * are apart, or null.
 * Events: `mh-ask` with `use-input`, `use-output`, `use-channel` or `use-pace`.
 */
import { html, LitElement, nothing, type PropertyValues, type TemplateResult } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { live } from 'lit/directives/live.js';
import type { DeviceAdvice } from '../../core/round-trip/device-advice.js';
import type { ClocksView } from '../../rehearsal/round-trip-view.js';
import type { Pace, SoundChoice, SoundDevice, SoundDevices, SoundView } from '../../rehearsal/snapshot.js';
import { AskEvent, type Ask } from '../asks.js';
import { base, plainButtons } from '../styles/shared.js';
import { channelLabel } from '../words.js';
import { clocksWords, DEVICE_LABELS, deviceAdviceWords, deviceWords, PACES } from '../words-sound.js';
import { devicesStyles } from './devices-styles.js';
import { noteHead } from './note-head.js';
import { queried, queriedStyles } from './queried.js';

type Side = 'input' | 'output';

const SIDES: readonly Side[] = ['input', 'output'];
const BOTH: readonly Pace[] = ['steady', 'quick'];

@customElement('mh-devices')
export class DevicesElement extends LitElement {
  static override readonly styles = [base, plainButtons, queriedStyles, devicesStyles];

  @property({ attribute: false }) sound: Extract<SoundView, { state: 'open' }> | null = null;
  @property({ type: Number }) channel = 0;
  @property({ attribute: false }) devices: SoundDevices | null = null;
  @property({ attribute: false }) choice: SoundChoice = { inputId: null, outputId: null, pace: 'steady' };
  @property() advice: DeviceAdvice = 'fine';
  @property({ type: Number }) spare: number | null = null;
  @property({ attribute: false }) clocks: ClocksView | null = null;

  override render(): TemplateResult {
    const { sound, devices } = this;
    const count = sound?.inputChannels ?? 1;
    return html`
      <h2>${DEVICE_LABELS.inOut}</h2>
      ${this.#side('input', devices?.inputs ?? null)} ${count > 1 ? this.#channels(count) : nothing} ${this.#output()}
      ${devices === null || devices.named ? nothing : html`<p class="note">${DEVICE_LABELS.unnamed}</p>`}
      <div role="radiogroup" aria-label=${DEVICE_LABELS.pace}>${BOTH.map((pace) => this.#pace(pace))}</div>
      <div class="advice" role="status">${queried(deviceAdviceWords(this.advice))}</div>
      <div class="advice" role="status">${queried(clocksWords(this.clocks))}</div>
    `;
  }

  /** Choices show what holds, also where a wish was refused; a browser only knows their options once they are there. */
  override updated(changed: PropertyValues): void {
    super.updated(changed);
    for (const side of SIDES) {
      const select = this.renderRoot.querySelector<HTMLSelectElement>(`select.${side}`);
      if (select) select.value = this.#chosen(side) ?? '';
    }
  }

  /** The first of the choices, once they are drawn. */
  override focus(): void {
    void this.updateComplete.then(() => this.renderRoot.querySelector<HTMLElement>('select, button, input')?.focus());
  }

  #output(): TemplateResult {
    const { devices } = this;
    if (devices === null || devices.outputCanBeChosen) return this.#side('output', devices?.outputs ?? null);
    return html`<div class="side">
      ${DEVICE_LABELS.output}<span class="fixed">${DEVICE_LABELS.systemDefault}</span>${DEVICE_LABELS.outputFixed}
    </div>`;
  }

  #side(side: Side, known: readonly SoundDevice[] | null): TemplateResult {
    const listed = known ?? (this.sound === null ? [] : null);
    if (listed === null) {
      return html`<div class="side">${DEVICE_LABELS[side]}<span class="fixed">${DEVICE_LABELS.lookingUp}</span></div>`;
    }
    const chosen = this.#chosen(side);
    const isGone = chosen !== null && !listed.some(({ id }) => id === chosen);
    return html`<label class="side">
      ${DEVICE_LABELS[side]}
      <select class=${side} @change=${(event: Event) => this.#choose(side, event)}>
        <option value="">${DEVICE_LABELS.systemDefault}</option>
        ${listed.map(({ id, name }, i) => html`<option .value=${id}>${deviceWords(name, side, i + 1)}</option>`)}
        ${isGone ? html`<option .value=${chosen}>${known === null ? DEVICE_LABELS.chosen : DEVICE_LABELS.gone}</option>` : nothing}
      </select>
    </label>`;
  }

  #channels(count: number): TemplateResult {
    return html`<div class="channels" role="group" aria-label=${DEVICE_LABELS.channels}>
      <span aria-hidden="true">${DEVICE_LABELS.channels}</span>
      ${Array.from(
        { length: count },
        (_, channel) =>
          html`<button
            type="button"
            aria-disabled=${channel === this.spare ? 'true' : 'false'}
            aria-pressed=${channel === this.channel ? 'true' : 'false'}
            @click=${() => this.#useChannel(channel)}
          >
            ${channelLabel(channel)}
          </button>`,
      )}
    </div>`;
  }

  #pace(pace: Pace): TemplateResult {
    const { name, cost } = PACES[pace];
    return html`<label class="pace">
      <input
        type="radio"
        name="pace"
        aria-label=${name}
        aria-describedby="cost-${pace}"
        .checked=${live(this.choice.pace === pace)}
        @change=${() => this.#usePace(pace)}
      />
      ${noteHead()}
      <span class="words"><span class="name">${name}</span><span class="cost" id="cost-${pace}">${cost}</span></span>
    </label>`;
  }

  #chosen(side: Side): string | null {
    return side === 'input' ? this.choice.inputId : this.choice.outputId;
  }

  #choose(side: Side, event: Event): void {
    const { value } = event.target as HTMLSelectElement;
    this.#ask({ type: side === 'input' ? 'use-input' : 'use-output', id: value === '' ? null : value });
    this.requestUpdate();
  }

  #useChannel(channel: number): void {
    if (channel !== this.spare) this.#ask({ type: 'use-channel', channel });
  }

  #usePace(pace: Pace): void {
    this.#ask({ type: 'use-pace', pace });
    this.requestUpdate();
  }

  #ask(ask: Ask): void {
    this.dispatchEvent(new AskEvent(ask));
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'mh-devices': DevicesElement;
  }
}
