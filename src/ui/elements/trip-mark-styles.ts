/** How a mark over a bar looks, and where its slip hangs. */
import { css } from 'lit';

export const tripMarkStyles = css`
  :host {
    position: relative;
    display: block;
  }

  .sign {
    display: grid;
    place-items: center;
    width: 24px;
    height: 24px;
    min-height: 24px;
    padding: 0;
    border: 0;
    background: none;
    color: var(--ink);
    cursor: pointer;
  }

  .sign:hover,
  .sign[aria-expanded='true'] {
    color: var(--pencil);
  }

  .query {
    width: 20px;
    height: 20px;
    background: radial-gradient(closest-side, var(--paper) 92%, transparent);
  }

  mh-slip {
    top: calc(100% + 4px);
    left: 0;
    width: min(410px, 100vw - 32px);
    max-width: none;
  }

  mh-slip.leftwards {
    right: 0;
    left: auto;
  }

  mh-slip.upwards {
    top: auto;
    bottom: calc(100% + 4px);
  }

  p {
    margin: 0 0 9px;
  }

  .happened {
    outline: none;
    font: italic 16px/1.35 var(--serif);
  }

  .moves {
    display: flex;
    flex-wrap: wrap;
    gap: 4px 10px;
    align-items: baseline;
    margin-bottom: 9px;
  }

  .hint {
    color: var(--soft);
    font-size: 14px;
  }

  .do {
    display: flex;
    flex-wrap: wrap;
    gap: 7px 18px;
  }
`;
