/**
 * Small signs, drawn here: notes, the proofreader's query, and what the transport says (triangle, square, disc, bars:
 * after the shapes of IEC 60417). All take their colour from the text around them and are hidden from screen readers;
 * words stand beside them.
 */
import { html, nothing, svg, type SVGTemplateResult, type TemplateResult } from 'lit';
import { writtenNotes, type WrittenNote } from '../../core/chart/note-sign.js';
import type { NoteValue } from '../../core/meter/metre.js';
import type { TransportState } from '../../core/transport/states.js';

/** Width of a written note in units of its drawing, with its dot. */
const NOTE_WIDTH = 13;
const NOTE_STEP = 16;

/** A note value as an engraver writes it, 24 units high: ♩, dotted, eighth, tied … */
export function noteSign(value: NoteValue): TemplateResult {
  const notes = writtenNotes(value);
  const width = notes.length * NOTE_STEP - (NOTE_STEP - NOTE_WIDTH) + (notes.at(-1)?.dots ?? 0) * 4;
  return html`<svg class="note" viewBox="-1 0 ${width + 2} 27" width=${width + 2} height="27" aria-hidden="true">
    ${notes.map((note, i) => written(note, i * NOTE_STEP, i > 0))}
  </svg>`;
}

function written({ base, dots }: WrittenNote, x: number, tied: boolean): SVGTemplateResult {
  const hollow = base <= 2;
  const head = hollow
    ? svg`<path fill="currentColor" fill-rule="evenodd" transform="translate(5 21)"
        d="M-5 1.1C-4.6-2 1.6-4.9 4.3-3.1S3.6 4.9-.8 4.3C-3.4 4-5.2 3-5 1.1ZM-3.4 1.6C-3.6 3.4 2 .4 3.3-1.3 4-3.2-2.9-.6-3.4 1.6Z"/>`
    : svg`<ellipse cx="5" cy="21" rx="5" ry="3.7" transform="rotate(-22 5 21)" fill="currentColor"/>`;
  const stem = base > 1 ? svg`<path d="M9.3 19.6V1" stroke="currentColor" stroke-width="1.5"/>` : nothing;
  const flags = Array.from(
    { length: Math.max(0, Math.log2(base) - 2) },
    (_, i) => svg`<path fill="currentColor"
    d="M9.3 ${1 + i * 5}c.6 4.5 6.6 5.6 4.6 12.4.3-4.6-2.6-5.9-4.6-7.1z"/>`,
  );
  const dot = dots === 1 ? svg`<circle cx="14.5" cy="20.5" r="1.6" fill="currentColor"/>` : nothing;
  const tie = tied
    ? svg`<path d="M-9 26q6.5 3.5 12 0" fill="none" stroke="currentColor" stroke-width="1.3"/>`
    : nothing;
  return svg`<g transform="translate(${x} 0)">${tie}${head}${stem}${flags}${dot}</g>`;
}

/** A question mark in a ring, as a proofreader writes it beside what is not right. */
export function querySign(): TemplateResult {
  return html`<svg class="query" viewBox="0 0 26 26" width="24" height="24" aria-hidden="true">
    <path
      d="M15 2.5C7 .8 1.8 6 2.3 13S8.5 24.3 14.5 23.6 24.6 17.5 23.6 10.5 17 1.6 10.5 3.6"
      fill="none"
      stroke="currentColor"
      stroke-width="1.5"
      stroke-linecap="round"
    />
    <path
      d="M9.7 10.2C9.6 5.8 16.6 5.9 16.2 10c-.2 2.5-3.2 2.7-3.2 5.8"
      fill="none"
      stroke="currentColor"
      stroke-width="1.8"
      stroke-linecap="round"
    />
    <circle cx="12.9" cy="19" r="1.3" fill="currentColor" />
  </svg>`;
}

const STATE_SHAPES: Readonly<Record<TransportState, SVGTemplateResult>> = {
  stopped: svg`<path d="M4 4h12v12H4z" fill="none" stroke="currentColor" stroke-width="1.8"/>`,
  'counting-in': svg`<path d="M4 16V9M8 16V9M12 16V9M16 16V4" stroke="currentColor" stroke-width="2"/>`,
  playing: svg`<path d="M5 3l12 7-12 7z" fill="currentColor"/>`,
  waiting: svg`<path d="M6 4v12M14 4v12" stroke="currentColor" stroke-width="3.2"/>`,
  recording: svg`<circle cx="10" cy="10" r="7" fill="currentColor"/>`,
  layering: svg`<circle cx="10" cy="7.5" r="6" fill="currentColor"/>
    <path d="M2 15h16M2 18.5h16" stroke="currentColor" stroke-width="1.6"/>`,
};

export function stateSign(state: TransportState): TemplateResult {
  return html`<svg class="state" viewBox="0 0 20 20" width="20" height="20" aria-hidden="true">
    ${STATE_SHAPES[state]}
  </svg>`;
}

/** The ring that a player draws round what comes next; it fits any box it is laid over. */
export function pencilRing(): TemplateResult {
  return html`<svg class="ring" viewBox="4 0 194 50" preserveAspectRatio="none" aria-hidden="true">
    <path
      d="M12 27C7 9 68 3.5 110 4S197 10 193 27 131 47 84 46 4 42 9 20"
      fill="none"
      stroke="currentColor"
      stroke-width="2"
      stroke-linecap="round"
      vector-effect="non-scaling-stroke"
    />
  </svg>`;
}

/** A whole rest, hanging from its own short line, centred on a point. */
export function wholeRest(x: number, y: number): SVGTemplateResult {
  return svg`<path class="rest" d="M${x - 12} ${y}h24v1.2h-5v5.8h-14v-5.8h-5z"/>`;
}
