import { html, svg, type TemplateResult } from 'lit';

/** Hollow, and filled where it is chosen: what follows a radio on the slip of the sound. */
export const noteHead = (): TemplateResult =>
  html`<svg viewBox="0 0 15 12" width="15" height="12" aria-hidden="true">
    ${svg`<ellipse class="fill" cx="7" cy="6" rx="5.6" ry="4" transform="rotate(-22 7 6)" stroke="currentColor" stroke-width="1.7" />`}
  </svg>`;
