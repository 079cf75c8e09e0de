/**
 * `<mh-reference>`: the reference cable: whether it is in use and by which side, what to plug where, and what to take care of.
 *
 * Properties: `reference`.
 * Events: `mh-ask` with `use-reference`.
 */
import { css, html, LitElement, nothing, type TemplateResult } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { live } from 'lit/directives/live.js';
import type { ReferenceOrder, ReferenceView } from '../../rehearsal/round-trip-view.js';
import { AskEvent } from '../asks.js';
import { base } from '../styles/shared.js';
import { REFERENCE_LABELS, REFERENCE_SIDES, referenceCaution, referenceWords } from '../words-sound.js';
import { devicesStyles } from './devices-styles.js';
import { noteHead } from './note-head.js';
import { queried, queriedStyles } from './queried.js';

interface Choice {
  readonly name: string;
  readonly order: ReferenceOrder;
}

const OFF: Choice = { name: REFERENCE_LABELS.off, order: { on: false, side: 'right' } };
const PAIRS: readonly Choice[] = [OFF, { name: REFERENCE_LABELS.on, order: { on: true, side: 'right' } }];
const SIDES: readonly Choice[] = [
  OFF,
  { name: REFERENCE_SIDES.right, order: { on: true, side: 'right' } },
  { name: REFERENCE_SIDES.left, order: { on: true, side: 'left' } },
];

@customElement('mh-reference')
export class ReferenceElement extends LitElement {
  static override readonly styles = [
    base,
    queriedStyles,
    devicesStyles,
    css`
      :host {
        gap: 8px;
      }

      [role='radiogroup'] {
        display: flex;
        flex-wrap: wrap;
        gap: 0 28px;
      }
    `,
  ];

  @property({ attribute: false }) reference: ReferenceView | null = null;

  override render(): TemplateResult | typeof nothing {
    const { reference } = this;
    if (reference === null) return nothing;
    const choices = reference.layout === 'pairs' ? PAIRS : SIDES;
    return html`
      <h2>${REFERENCE_LABELS.title}</h2>
      <p class="note">${REFERENCE_LABELS.goodFor} ${referenceWords(reference)}</p>
      ${
        reference.can === 'yes'
          ? html`<p class="note">${referenceCaution(reference.layout)}</p>
              <div role="radiogroup" aria-label=${REFERENCE_LABELS.title}>
                ${choices.map((choice) => this.#choice(choice, reference))}
              </div>`
          : nothing
      }
      <div class="advice" role="status">${queried(reference.isLost ? REFERENCE_LABELS.lost : '')}</div>
    `;
  }

  #choice({ name, order }: Choice, { side, layout }: ReferenceView): TemplateResult {
    const holds = order.on ? side !== null && (layout === 'pairs' || side === order.side) : side === null;
    return html`<label class="pace">
      <input
        type="radio"
        name="reference"
        aria-label=${name}
        .checked=${live(holds)}
        @change=${() => {
          this.dispatchEvent(new AskEvent({ type: 'use-reference', order }));
          this.requestUpdate();
        }}
      />
      ${noteHead()}
      <span class="words"><span class="name">${name}</span></span>
    </label>`;
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'mh-reference': ReferenceElement;
  }
}
