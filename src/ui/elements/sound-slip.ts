/**
 * `<mh-sound-slip>`: what stands on the slip of the sound: what is played into and heard from on the left, the round trip on
 * the right. It takes the focus when it appears.
 *
 * Properties: `sound`, open; `channel`; `devices`, `choice`, as `<mh-devices>`; `trip`, as `<mh-round-trip>`.
 * Events: `mh-ask` of what it holds.
 */
import { css, html, LitElement, nothing, type PropertyValues, type TemplateResult } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { RoundTripView } from '../../rehearsal/round-trip-view.js';
import type { SoundChoice, SoundDevices, SoundView } from '../../rehearsal/snapshot.js';
import { base } from '../styles/shared.js';
import './devices.js';
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

      mh-round-trip {
        padding-left: 32px;
        border-left: 1px solid var(--rule);
      }

      @media (width < 820px) {
        :host {
          grid-template-columns: minmax(0, 1fr);
          gap: 20px;
        }

        mh-round-trip {
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

  override render(): TemplateResult | typeof nothing {
    if (this.sound === null) return nothing;
    return html`
      <mh-devices
        .sound=${this.sound}
        .channel=${this.channel}
        .devices=${this.devices}
        .choice=${this.choice}
        .advice=${this.trip?.device ?? 'fine'}
      ></mh-devices>
      <mh-round-trip .sound=${this.sound} .channel=${this.channel} .trip=${this.trip}></mh-round-trip>
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
