/** How the devices look on their slip: choices as lines of text, the pace as note heads. */
import { css } from 'lit';

export const devicesStyles = css`
  :host {
    display: grid;
    gap: 13px;
    align-content: start;
  }

  h2 {
    margin: 0;
    font: 700 19px/1.3 var(--serif);
  }

  .side,
  .channels {
    color: var(--soft);
    font-size: 14px;
  }

  .side select {
    display: block;
    width: 100%;
    margin-top: 3px;
    padding-left: 0;
    color: var(--ink);
    font-size: 15px;
    text-overflow: ellipsis;
  }

  .fixed {
    display: block;
    min-height: 26px;
    padding: 2px 0;
    color: var(--ink);
    font-size: 15px;
  }

  .channels {
    display: flex;
    gap: 8px;
    align-items: baseline;
    margin-top: -7px;
  }

  .channels button {
    color: var(--ink);
  }

  .channels button[aria-pressed='false'] {
    border-bottom-color: transparent;
    color: var(--soft);
  }

  .note {
    margin: 0;
    color: var(--soft);
    font-size: 14px;
  }

  .advice {
    font-size: 14px;
  }

  /* There before its words, and taking no room. */
  .advice:empty {
    position: absolute;
  }

  .pace {
    display: grid;
    grid-template-columns: 22px 1fr;
    align-items: baseline;
    margin-top: 5px;
    cursor: pointer;
  }

  .pace input {
    position: absolute;
    opacity: 0;
  }

  .pace svg {
    overflow: visible;
  }

  .pace .fill {
    fill: none;
  }

  input:checked + svg .fill {
    fill: currentcolor;
  }

  input:focus-visible + svg {
    outline: 2px solid var(--pencil);
    outline-offset: 3px;
    border-radius: 2px;
  }

  .pace .name {
    font: italic 16px/1.3 var(--serif);
  }

  input:checked ~ .words .name {
    border-bottom: 2px solid var(--pencil);
  }

  .pace .cost {
    display: block;
    color: var(--soft);
    font-size: 14px;
  }
`;
