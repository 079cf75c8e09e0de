/** A sentence with the proofreader's sign beside it. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { querySign } from '../engraving/signs.js';

export const queriedStyles = css`
  .queried {
    display: flex;
    gap: 9px;
    align-items: center;
    margin: 0;
  }

  .queried svg {
    flex: none;
  }
`;

/** Nothing where there are no words. */
export function queried(words: string): TemplateResult | typeof nothing {
  return words === '' ? nothing : html`<p class="queried">${querySign()}<span>${words}</span></p>`;
}
