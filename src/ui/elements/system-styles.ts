/** How a system looks. The element sets the lengths (`--system-pitch` and the like) from its metrics. */
import { css, type CSSResult } from 'lit';
import { base } from '../styles/shared.js';

export const systemStyles: CSSResult[] = [
  base,
  css`
    :host {
      position: relative;
      display: block;
      padding: var(--system-top) 0 var(--system-foot);
      scroll-margin: 12px 0 190px;
    }

    svg.music,
    .moving {
      position: absolute;
      top: 0;
      left: var(--system-names);
      overflow: visible;
      pointer-events: none;
    }

    .thin {
      fill: none;
      stroke: var(--ink);
      stroke-width: 1.1;
    }

    .heavy {
      fill: none;
      stroke: var(--ink);
      stroke-width: 4.5;
    }

    .bracket,
    .dot,
    .rest {
      fill: var(--ink);
    }

    .stave {
      fill: none;
      stroke: var(--rule);
    }

    .stave.open {
      stroke-dasharray: 5 5;
    }

    .ink {
      fill: var(--wash);
    }

    .ink.live {
      fill: var(--pencil-wash);
    }

    .number {
      fill: var(--soft);
      font: 12.5px var(--sans);
      font-variant-numeric: tabular-nums;
    }

    .baton {
      position: absolute;
      top: calc(var(--system-top) - 26px);
      left: -5px;
      width: 10px;
      height: 10px;
      border-radius: 50%;
      background: var(--pencil);
    }

    .bar-in-hand {
      position: absolute;
      top: calc(var(--system-top) + var(--system-rows) + 5px);
      height: 6px;
      border: 1.8px solid var(--pencil);
      border-top: 0;
    }

    .pen {
      position: absolute;
      top: calc(var(--system-top) + var(--system-rows) - 30px);
      left: 0;
    }

    .pen path {
      fill: var(--pencil);
    }

    .names {
      margin: 0;
      padding: 0;
      list-style: none;
    }

    li,
    .row {
      display: grid;
      grid-template-columns: calc(var(--system-names) - 26px) 1fr calc(var(--system-margin) - 12px);
      align-items: end;
      height: var(--system-pitch);
      padding-bottom: 2px;
    }

    .name {
      grid-column: 1;
      justify-self: end;
      max-width: 100%;
      overflow: hidden;
      font: 16px/24px var(--serif);
      text-overflow: ellipsis;
      white-space: nowrap;
    }

    mh-name.name {
      overflow: visible;
    }

    .out {
      color: var(--soft);
      text-decoration: line-through;
    }

    .live {
      color: var(--pencil);
    }

    .next {
      padding-right: 3px;
      color: var(--soft);
      font-style: italic;
    }

    mh-margin {
      grid-column: 3;
    }

    mh-margin::part(plain) {
      opacity: 0;
    }

    li:hover mh-margin::part(plain),
    li:focus-within mh-margin::part(plain) {
      opacity: 1;
    }

    @media (hover: none) {
      mh-margin::part(plain) {
        opacity: 1;
      }
    }

    .row .name {
      padding: 0 2px;
    }

    :host([narrow]) li,
    :host([narrow]) .row {
      grid-template-columns: 1fr auto;
      align-items: start;
      padding: 1px 0 0 calc(var(--system-names) + var(--system-head));
    }

    /* Bar lines stop short of what is written over them. */
    :host([narrow]) .name {
      position: relative;
      justify-self: start;
      margin-left: 4px;
    }

    :host([narrow]) .name,
    :host([narrow]) mh-margin::part(note) {
      background: var(--paper);
    }

    :host([narrow]) mh-margin {
      grid-column: 2;
    }
  `,
];
