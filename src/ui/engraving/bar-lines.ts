/** Brackets, bar lines and repeat signs, drawn through all staves of a system. Classes are styled by the system. */
import { svg, type SVGTemplateResult } from 'lit';

/** Upwards from each stave line, the middle of where its ink stands. */
const DOTS_UP = [6, 14] as const;

/** The bracket left of the first bar line, which is at 0. */
export function bracket(from: number, to: number): SVGTemplateResult {
  return svg`<path class="bracket" d="M-15 ${from - 2}h3.4V${to + 2}h-3.4z
    M-15 ${from - 1}c5-.5 9.5-3 12.5-7.5-1.5 6-5 10-9.5 11z
    M-12 ${to - 3}c4.5 1 8 5 9.5 11-3-4.5-7.5-7-12.5-7.5z" />`;
}

/** Heavy, thin, dots: the loop begins here. `x` is the middle of the heavy line. */
export function openingSign(x: number, from: number, to: number, staves: readonly number[]): SVGTemplateResult {
  return svg`<path class="heavy" d="M${x} ${from}V${to}" /><path class="thin" d="M${x + 5.5} ${from}V${to}" />
    ${dots(x + 9.5, staves)}`;
}

/** Dots, thin, heavy: and goes back from here. `x` is the right edge of the system. */
export function closingSign(x: number, from: number, to: number, staves: readonly number[]): SVGTemplateResult {
  return svg`<path class="thin" d="M${x - 5.5} ${from}V${to}" /><path class="heavy" d="M${x} ${from}V${to}" />
    ${dots(x - 10, staves)}`;
}

/** No bar line yet: the staves go on. */
export function openEnd(x: number, staves: readonly number[]): SVGTemplateResult {
  return svg`${staves.map((y) => svg`<path class="stave open" d="M${x} ${y}h36" />`)}`;
}

function dots(x: number, staves: readonly number[]): readonly SVGTemplateResult[] {
  return staves.flatMap((y) => DOTS_UP.map((up) => svg`<circle class="dot" cx=${x} cy=${y - up} r="1.7" />`));
}
