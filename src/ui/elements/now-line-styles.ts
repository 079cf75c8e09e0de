/** How the now line looks. */
import { css, type CSSResult } from 'lit';
import { base, keyHints, plainButtons } from '../styles/shared.js';

export const nowLineStyles: CSSResult[] = [
  base,
  plainButtons,
  keyHints,
  css`
    :host {
      display: block;
      border-top: 2px solid var(--ink);
      background: var(--paper);
    }

    .notice {
      display: flex;
      gap: 12px;
      align-items: center;
      padding: 7px 40px;
      border-bottom: 1px solid var(--rule);
      font-size: 16px;
    }

    .notice.none {
      padding: 0;
      border: 0;
    }

    .notice span {
      min-width: 0;
    }

    .notice > span:empty {
      position: absolute;
    }

    .notice svg {
      flex: none;
    }

    .notice button {
      margin-left: 6px;
      color: var(--pencil);
      white-space: nowrap;
    }

    .line {
      display: grid;
      grid-template-columns: auto minmax(0, 1fr) auto;
      gap: 18px;
      align-items: center;
      padding: 10px 40px 12px;
    }

    p {
      margin: 0;
    }

    .say {
      display: flex;
      gap: 12px;
      align-items: baseline;
      font: 400 clamp(21px, 1.95vw, 30px) / 1.2 var(--serif);
    }

    .bar {
      white-space: nowrap;
    }

    .state {
      position: relative;
      top: 1px;
      flex: none;
    }

    .then {
      min-height: 1.35em;
      margin-top: 3px;
      color: var(--soft);
      font-size: 16px;
    }

    .acts {
      display: flex;
      gap: 30px;
      align-items: center;
    }

    .plain {
      display: grid;
      grid-template-columns: auto auto;
      gap: 6px 22px;
    }

    .plain button {
      display: flex;
      justify-content: space-between;
      align-items: baseline;
      padding: 3px 2px;
      white-space: nowrap;
    }

    .do {
      position: relative;
      min-height: 54px;
      padding: 8px 30px 10px;
      border: 0;
      color: var(--pencil);
      font: 21px/1.2 var(--serif);
      touch-action: manipulation;
    }

    .do kbd {
      position: relative;
      top: -2px;
    }

    .ring {
      position: absolute;
      inset: 0;
      width: 100%;
      height: 100%;
      overflow: visible;
    }

    @media (width < 1080px) {
      .line {
        grid-template-columns: auto minmax(0, 1fr);
      }

      .acts {
        flex-wrap: wrap;
        grid-column: 1 / -1;
        gap: 8px 26px;
        justify-content: space-between;
      }

      .plain {
        display: flex;
        flex-wrap: wrap;
      }
    }

    @media (width < 720px) {
      .notice {
        flex-wrap: wrap;
        padding: 6px 16px;
      }

      .notice span {
        flex: 1 1 9em;
      }

      .line {
        gap: 8px;
        padding: 8px 16px 10px;
      }

      .say {
        gap: 8px;
        font-size: 20px;
      }

      .then {
        font-size: 15px;
      }

      .plain {
        gap: 4px 14px;
      }

      .plain kbd {
        display: none;
      }

      .do {
        width: min(100%, 340px);
        margin-left: auto;
        font-size: 19px;
      }
    }
  `,
];
