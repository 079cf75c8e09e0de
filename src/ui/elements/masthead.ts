/**
 * `<mh-masthead>`: the top of the chart: the title, where the song is kept, and the look. Only that it is not kept is read
 * out: the rest changes while one plays.
 *
 * Properties: `song`, its title; `keeping`; `theme`.
 * Events: `mh-ask` with `retitle` or `choose-theme`.
 */
import { css, html, LitElement, nothing, type TemplateResult } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { KeepingView } from '../../rehearsal/snapshot.js';
import { AskEvent, type ThemeName } from '../asks.js';
import { querySign } from '../engraving/signs.js';
import { base, plainButtons } from '../styles/shared.js';
import { keepingWords, LABELS } from '../words.js';
import type { NameEvent } from './name.js';
import './name.js';

const THEMES: readonly ThemeName[] = ['paper', 'slate'];

@customElement('mh-masthead')
export class MastheadElement extends LitElement {
  static override readonly styles = [
    base,
    plainButtons,
    css`
      :host {
        display: grid;
        grid-template: 'program keeping look' auto 'title title title' auto / auto 1fr auto;
        gap: 2px 12px;
        align-items: baseline;
        padding: 10px 40px 12px;
        border-bottom: 1px solid var(--rule);
        color: var(--soft);
        font-size: 14px;
      }

      .program {
        grid-area: program;
        color: var(--ink);
        font: 16px/1.2 var(--serif);
      }

      .keeping {
        display: flex;
        grid-area: keeping;
        gap: 8px;
        align-items: center;
      }

      .problem {
        color: var(--ink);
      }

      .problem svg {
        flex: none;
      }

      .look {
        display: flex;
        grid-area: look;
        gap: 14px;
      }

      button[aria-pressed='true'] {
        color: var(--ink);
      }

      button[aria-pressed='false'] {
        border-bottom-color: transparent;
      }

      h1 {
        grid-area: title;
        min-width: 0;
        margin: 0;
        color: var(--ink);
        font: 400 36px/1.25 var(--serif);
        text-align: center;
      }

      @media (width < 480px) {
        :host {
          grid-template: 'program look' auto 'keeping keeping' auto 'title title' auto / 1fr auto;
        }
      }

      @media (width < 720px) {
        :host {
          padding: 8px 16px 10px;
        }

        h1 {
          font-size: 28px;
        }
      }
    `,
  ];

  @property() song = '';
  @property({ attribute: false }) keeping: KeepingView = { state: 'kept' };
  @property() theme: ThemeName = 'paper';

  override render(): TemplateResult {
    const problem = this.keeping.state === 'not-kept';
    const words = keepingWords(this.keeping);
    return html`
      <span class="program">${LABELS.program}</span>
      <div class="keeping ${problem ? 'problem' : ''}">
        ${problem ? querySign() : html`<span>${words}</span>`}<span role="alert">${problem ? words : nothing}</span>
      </div>
      <div class="look" role="group" aria-label=${LABELS.theme}>
        ${THEMES.map(
          (theme) =>
            html`<button
              type="button"
              aria-pressed=${theme === this.theme ? 'true' : 'false'}
              @click=${() => this.dispatchEvent(new AskEvent({ type: 'choose-theme', theme }))}
            >
              ${LABELS[theme]}
            </button>`,
        )}
      </div>
      <h1>
        <mh-name .value=${this.song} .label=${LABELS.title} .hint=${LABELS.retitle} @mh-name=${this.#retitle}></mh-name>
      </h1>
    `;
  }

  readonly #retitle = (event: NameEvent): void => {
    this.dispatchEvent(new AskEvent({ type: 'retitle', title: event.text }));
  };
}

declare global {
  interface HTMLElementTagNameMap {
    'mh-masthead': MastheadElement;
  }
}
