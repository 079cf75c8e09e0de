/** How the Build page is laid out. */
import { css, type CSSResult } from 'lit';
import { base } from '../styles/shared.js';

export const buildPageStyles: CSSResult[] = [
  base,
  css`
    :host {
      display: block;
      color: var(--ink);
    }

    .sheet {
      display: grid;
      grid-template-rows: auto 1fr auto;
      min-height: 100vh;
    }

    main {
      min-width: 0;
      padding: 14px 40px 20px;
    }

    footer {
      position: sticky;
      z-index: 5;
      bottom: 0;
    }

    .head {
      display: flex;
      flex-wrap: wrap;
      gap: 4px 28px;
      justify-content: space-between;
      align-items: center;
      min-height: 32px;
    }

    /* At the right also where it has a line of its own: what hangs from it needs the page's width. */
    .head mh-input {
      margin-left: auto;
    }

    .head + .head {
      justify-content: flex-start;
      margin-top: 8px;
    }

    h2 {
      display: flex;
      gap: 12px;
      align-items: center;
      margin: 0;
      font: 400 20px/1.2 var(--serif);
    }

    .rehearsal-mark {
      display: grid;
      place-items: center;
      min-width: 28px;
      height: 28px;
      border: 1.6px solid var(--ink);
      font-weight: 700;
      font-size: 18px;
    }

    .advice {
      max-width: 44em;
      margin: 10px 0 0 150px;
    }

    .advice p {
      margin: 0 0 8px;
    }

    .start {
      font: 20px/1.45 var(--serif);
    }

    .caution {
      padding-top: 6px;
      color: var(--soft);
      font-size: 15px;
    }

    @media (width < 720px) {
      main {
        padding: 10px 16px 16px;
      }

      .advice,
      .head mh-input {
        margin-left: 0;
      }

      .start {
        font-size: 18px;
      }
    }

    /* Where little height is left, as at a large zoom, the foot scrolls with the page. */
    @media (height < 520px) {
      footer {
        position: static;
      }
    }
  `,
];
