/** How the line of the input looks, and where its slip hangs. */
import { css } from 'lit';

export const inputStyles = css`
  :host {
    position: relative;
    display: flex;
    flex-wrap: wrap;
    gap: 4px 18px;
    justify-content: flex-end;
    align-items: baseline;
    color: var(--soft);
    font-size: 14px;
  }

  button,
  .level {
    color: var(--ink);
  }

  .in-use {
    display: flex;
    max-width: 100%;
    white-space: pre;
  }

  .device {
    max-width: 24em;
    overflow: hidden;
    text-overflow: ellipsis;
  }

  .trouble,
  .change {
    display: flex;
    flex-basis: 100%;
    justify-content: flex-end;
    gap: 9px;
    align-items: center;
    color: var(--ink);
  }

  .trouble svg {
    flex: none;
  }

  .trouble.none,
  .change:empty,
  .opening:empty {
    position: absolute;
  }

  /* Over the foot of the page, and scrolled in itself where the window is low. */
  mh-slip {
    z-index: 6;
    top: calc(100% + 6px);
    right: 0;
    box-sizing: border-box;
    max-height: calc(100vh - 190px);
    overflow-y: auto;
    width: min(1010px, 100vw - 80px);
    max-width: none;
    padding: 18px 26px 16px;
  }

  mh-slip.narrow {
    width: min(380px, 100vw - 80px);
  }

  @media (width < 720px) {
    :host,
    .trouble,
    .change {
      justify-content: flex-start;
    }

    mh-slip {
      right: auto;
      left: 0;
      width: calc(100vw - 32px);
      padding: 16px 18px;
    }

    .in-use {
      display: block;
      text-align: left;
      white-space: normal;
    }
  }
`;
