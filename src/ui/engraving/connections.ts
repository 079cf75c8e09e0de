/**
 * Line drawings of how a round trip is measured, and the proofreader's caret. Drawn here, in the colour of the text around
 * them. The drawings are images with words of their own; the caret is hidden from screen readers.
 */
import { html, svg, type SVGTemplateResult, type TemplateResult } from 'lit';

const LINE = { thin: 1.3, plain: 1.8, cable: 2.6 } as const;

/** A socket seen from the front, with a nut round it, and an arrow over it: down and out of the box, or up into it. */
function socket(x: number, goes: 'out' | 'in'): SVGTemplateResult {
  const arrow = goes === 'out' ? `M${x} 8v14M${x - 5} 17L${x} 23l5-6` : `M${x} 23V9M${x - 5} 14L${x} 8l5 6`;
  return svg`
    <path d="${arrow}" stroke-width=${LINE.plain} />
    <path d="M${x - 9} 38l4.5-7.8h9l4.5 7.8-4.5 7.8h-9z" stroke-width=${LINE.thin} />`;
}

/** A plug that stands in a socket: its sleeve, the relief of its cable, and where the cable begins. */
function plug(x: number): SVGTemplateResult {
  return svg`
    <path class="paper" d="M${x - 5} 36h10v21h-10z" stroke-width=${LINE.plain} />
    <path d="M${x - 5} 41h10" stroke-width=${LINE.thin} />
    <path class="paper" d="M${x - 2.8} 57h5.6l-.8 8h-4z" stroke-width=${LINE.thin} />`;
}

/** A cable out of one socket of a box and into another. */
export function cablePicture(words: string): TemplateResult {
  return html`<svg class="picture" viewBox="0 0 190 118" role="img" aria-label=${words}>
    <g fill="none" stroke="currentColor" stroke-linecap="round" stroke-linejoin="round">
      <path d="M15 3.5h160q4 0 4 4v41q0 4-4 4H15q-4 0-4-4v-41q0-4 4-4z" stroke-width=${LINE.plain} />
      <path d="M20 52.5v5h12v-5M158 52.5v5h12v-5" stroke-width=${LINE.thin} />
      ${socket(62, 'out')} ${socket(128, 'in')}
      <path d="M62 65C62 98 44 111 95 111S128 98 128 65" stroke-width=${LINE.cable} />
      <path d="M90 104.5l8 6.5-8 6.5" stroke-width=${LINE.plain} />
      ${plug(62)} ${plug(128)}
    </g>
  </svg>`;
}

/** One earpiece of a pair of headphones against a microphone. */
export function earpiecePicture(words: string): TemplateResult {
  return html`<svg class="picture" viewBox="0 0 190 118" role="img" aria-label=${words}>
    <g fill="none" stroke="currentColor" stroke-linecap="round" stroke-linejoin="round">
      <path d="M14 62C14 18 34 5 54 5s38 13 38 52" stroke-width=${LINE.cable} />
      <path d="M19 60C19 26 36 11 54 11s32 11 33 44" stroke-width=${LINE.thin} />
      <path class="paper" d="M9 62h9q5 0 5 5v24q0 5-5 5H9q-4 0-4-4V66q0-4 4-4z" stroke-width=${LINE.plain} />
      <path class="paper" d="M88 55h9v42h-9q-6 0-6-6V61q0-6 6-6z" stroke-width=${LINE.plain} />
      <path class="paper" d="M97 52q7 0 7 7v34q0 7-7 7z" stroke-width=${LINE.plain} />
      <path d="M109 70q3 6 0 12M114 66q5.5 10 0 20" stroke-width=${LINE.thin} />
      <path class="paper" d="M136 56h-5q-11 7-11 20t11 20h5z" stroke-width=${LINE.plain} />
      <path d="M127 60v32M132 57v38M121.5 70H136M120.5 82H136" stroke-width=${LINE.thin} />
      <path class="paper" d="M136 55h7v42h-7z" stroke-width=${LINE.plain} />
      <path class="paper" d="M143 60l36 7.5v17L143 92z" stroke-width=${LINE.plain} />
      <path d="M179 76q6 0 9 4" stroke-width=${LINE.cable} />
    </g>
  </svg>`;
}

/** A small caret, as written under a line where something was put in or moved. */
export function caretSign(): TemplateResult {
  return html`<svg class="caret" viewBox="0 0 16 14" width="16" height="14" aria-hidden="true">
    <path d="M2 12.5L8 2l6 10.5" fill="none" stroke="currentColor" stroke-width="1.8" stroke-linecap="round" />
  </svg>`;
}
