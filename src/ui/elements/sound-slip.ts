/**
 * `<mh-sound-slip>`: what stands on the slip of the sound: what is played into and heard from on the left, the round trip
 * and the reference cable on the right; without open sound, the devices alone. It takes the focus when it appears.
 *
 * Properties: `sound`, or null while none is open; `channel`; `devices`, `choice`, as `<mh-devices>`; `trip`, as `<mh-round-trip>`.
 * Events: `mh-ask` of what it holds.
 */
import { css, html, LitElement, nothing, type PropertyValues, type TemplateResult } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { RoundTripView } from '../../rehearsal/round-trip-view.js';
import type { SoundChoice, SoundDevices, SoundView } from '../../rehearsal/snapshot.js';
import { base } from '../styles/shared.js';
import './devices.js';
import './reference.js';
import './round-trip.js';

@customElement('mh-sound-slip')
export class SoundSlipElement extends LitElement {
  static override readonly styles = [
    base,
    css`
      :host {
        display: grid;
        grid-template-columns: minmax(0, 1fr) minmax(0, 2.1fr);
        gap: 32px;
      }

      .alone {
        grid-column: 1 / -1;
      }

      .trip {
        display: grid;
        gap: 22px;
        align-content: start;
        padding-left: 32px;
        border-left: 1px solid var(--rule);
      }

      @media (width < 820px) {
        :host {
          grid-template-columns: minmax(0, 1fr);
          gap: 20px;
        }

        .trip {
          padding: 18px 0 0;
          border-top: 1px solid var(--rule);
          border-left: 0;
        }
      }
    `,
  ];

  @property({ attribute: false }) sound: Extract<SoundView, { state: 'open' }> | null = null;
  @property({ type: Number }) channel = 0;
  @property({ attribute: false }) devices: SoundDevices | null = null;
  @property({ attribute: false }) choice: SoundChoice = { inputId: null, outputId: null, pace: 'steady' };
  @property({ attribute: false }) trip: RoundTripView | null = null;

  override render(): TemplateResult {
    if (this.sound === null) {
      return html`<mh-devices class="alone" .devices=${this.devices} .choice=${this.choice}></mh-devices>`;
    }
    const reference = this.trip?.reference ?? null;
    return html`
      <mh-devices
        .sound=${this.sound}
        .channel=${this.channel}
        .spare=${reference === null || reference.side === null ? null : reference.channel}
        .devices=${this.devices}
        .choice=${this.choice}
        .advice=${this.trip?.device ?? 'fine'}
        .clocks=${this.trip?.clocks ?? null}
      ></mh-devices>
      <div class="trip">
        <mh-round-trip .sound=${this.sound} .channel=${this.channel} .trip=${this.trip}></mh-round-trip>
        ${reference === null ? nothing : html`<mh-reference .reference=${reference}></mh-reference>`}
      </div>
    `;
  }

  override firstUpdated(changed: PropertyValues): void {
    super.firstUpdated(changed);
    this.renderRoot.querySelector('mh-devices')?.focus();
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'mh-sound-slip': SoundSlipElement;
  }
}
