/**
 * `<mh-ideas>`: phrases that were kept without tempo or bars; nothing where there are none.
 *
 * Properties: `ideas`; `rate`, frames a second.
 * Events: `mh-ask` with `drop-idea`.
 */
import { css, html, LitElement, nothing, type TemplateResult } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { Idea } from '../../core/song/song.js';
import { AskEvent } from '../asks.js';
import { base, plainButtons } from '../styles/shared.js';
import { droppedIdeaWords, ideaWords, LABELS } from '../words.js';

@customElement('mh-ideas')
export class IdeasElement extends LitElement {
  static override readonly styles = [
    base,
    plainButtons,
    css`
      :host {
        color: var(--soft);
        font-size: 14px;
      }

      section {
        display: flex;
        flex-wrap: wrap;
        gap: 4px 18px;
        align-items: baseline;
        margin-top: 12px;
      }

      h3 {
        margin: 0;
        font: inherit;
      }

      ul {
        display: contents;
      }

      li {
        display: flex;
        gap: 10px;
        align-items: baseline;
        color: var(--ink);
      }
    `,
  ];

  @property({ attribute: false }) ideas: readonly Idea[] = [];
  @property({ type: Number }) rate = 48_000;

  override render(): TemplateResult | typeof nothing {
    if (this.ideas.length === 0) return nothing;
    return html`<section aria-label=${LABELS.ideas}>
      <h3>${LABELS.ideas}</h3>
      <ul>
        ${this.ideas.map((idea) => this.#idea(idea))}
      </ul>
    </section>`;
  }

  #idea(idea: Idea): TemplateResult {
    const seconds = idea.frames / this.rate;
    return html`<li>
      ${ideaWords(seconds)}
      <button
        type="button"
        aria-label=${droppedIdeaWords(seconds)}
        @click=${() => this.dispatchEvent(new AskEvent({ type: 'drop-idea', idea: idea.id }))}
      >
        ${LABELS.dropIdea}
      </button>
    </li>`;
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'mh-ideas': IdeasElement;
  }
}
