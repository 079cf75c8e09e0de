/** Styles that several elements share. */
import { css } from 'lit';

/** Every element: padding inside boxes, and one mark of focus. */
export const base = css`
  *,
  *::before,
  *::after {
    box-sizing: border-box;
  }

  :focus-visible {
    outline: 2px solid var(--pencil);
    outline-offset: 2px;
    border-radius: 2px;
  }

  [hidden] {
    display: none !important;
  }

  .spoken {
    position: absolute;
    width: 1px;
    height: 1px;
    overflow: hidden;
    clip-path: inset(50%);
    white-space: nowrap;
  }
`;

/** Words that can be pressed: plain, with a ruling under them. */
export const plainButtons = css`
  button,
  select {
    min-width: 24px;
    min-height: 26px;
    padding: 2px 3px;
    border: 0;
    border-bottom: 1.4px solid var(--rule);
    border-radius: 0;
    background: none;
    color: inherit;
    font: inherit;
    font-variant-numeric: inherit;
    cursor: pointer;
  }

  button:hover,
  select:hover {
    border-bottom-color: var(--pencil);
  }

  /* Said to be off, and left in reach: where the focus is, it stays. */
  button[aria-disabled='true'] {
    border-bottom-color: transparent;
    color: var(--soft);
    opacity: 0.75;
    cursor: default;
  }

  button[aria-pressed='true'] {
    border-bottom-color: var(--pencil);
    border-bottom-width: 2px;
  }

  select option {
    background: var(--paper);
    color: var(--ink);
  }
`;

/** A key to press, beside the action it asks for. */
export const keyHints = css`
  kbd {
    margin-left: 7px;
    padding: 0 5px;
    border: 1px solid currentcolor;
    border-radius: 3px;
    color: inherit;
    font: 13px/1.35 var(--sans);
    white-space: nowrap;
    opacity: 0.85;
  }
`;

/** A field that is being written in. */
export const fields = css`
  input {
    min-height: 26px;
    padding: 1px 4px;
    border: 0;
    border-bottom: 2px solid var(--pencil);
    border-radius: 0;
    background: none;
    color: var(--ink);
    font: inherit;
    font-variant-numeric: inherit;
  }

  input[aria-invalid='true'] {
    border-bottom-style: dashed;
    border-bottom-color: var(--ink);
  }
`;
