/** How the round trip looks on its slip: a figure set like a tempo mark, and two drawings. */
import { css } from 'lit';

export const roundTripStyles = css`
  :host {
    display: grid;
    gap: 10px;
    align-content: start;
  }

  .mark {
    display: flex;
    flex-wrap: wrap;
    gap: 0 18px;
    align-items: baseline;
  }

  h2 {
    display: flex;
    gap: 8px;
    align-items: baseline;
    margin: 0;
    font: 700 19px/1.3 var(--serif);
  }

  h2 span,
  h2 mh-figure {
    font-weight: 400;
  }

  .known {
    color: var(--soft);
    font-size: 14px;
  }

  p {
    margin: 0;
  }

  .explained {
    font: 16px/1.4 var(--serif);
  }

  /* There before its words, and taking no room. */
  .advice:empty {
    position: absolute;
  }

  .ways {
    display: flex;
    gap: 26px;
    margin-top: 2px;
  }

  .way {
    position: relative;
    flex: 1 1 0;
    max-width: 284px;
    cursor: pointer;
  }

  .way input {
    position: absolute;
    opacity: 0;
  }

  .drawing {
    position: relative;
    display: grid;
    place-items: center;
    padding: 17px 0 13px;
    color: var(--soft);
  }

  .picture {
    width: auto;
    height: 92px;
  }

  .paper {
    fill: var(--paper);
  }

  .ring {
    position: absolute;
    inset: 1px 8px;
    width: calc(100% - 16px);
    height: calc(100% - 2px);
    color: var(--pencil);
    visibility: hidden;
  }

  .way:hover .drawing,
  input:checked + .drawing {
    color: var(--ink);
  }

  input:checked + .drawing .ring {
    visibility: visible;
  }

  input:focus-visible + .drawing {
    outline: 2px solid var(--pencil);
    outline-offset: 1px;
    border-radius: 2px;
  }

  .caption {
    display: block;
    padding: 0 6px;
    font: italic 15px/1.3 var(--serif);
    text-align: center;
  }

  .how {
    display: block;
    color: var(--soft);
    font-size: 14px;
    text-align: center;
  }

  .caution {
    color: var(--soft);
    font-size: 14px;
  }

  .do {
    display: flex;
    flex-wrap: wrap;
    gap: 6px 20px;
    align-items: baseline;
    min-height: 32px;
  }

  .do button {
    flex: none;
    font-size: 16px;
  }

  .do .first {
    border-bottom-color: var(--pencil);
    border-bottom-width: 2px;
    color: var(--pencil);
    font: 18px/1.3 var(--serif);
  }

  .going {
    font: 18px/1.3 var(--serif);
  }

  .outcome {
    min-height: 42px;
  }

  @media (width < 720px) {
    .ways {
      gap: 12px;
    }

    .picture {
      width: 100%;
      height: auto;
      max-height: 66px;
    }
  }
`;
