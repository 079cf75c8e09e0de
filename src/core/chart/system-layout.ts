/** Systems: the bars of a section wrapped into lines, as music is. Widths are in CSS pixels, but any unit would do. */

/** One line of bars. */
export interface SystemLine {
  /** Index of its first bar, from 0. */
  readonly firstBar: number;
  readonly bars: number;
  /** From the line's left edge to its first bar. */
  readonly head: number;
  readonly barWidth: number;
  /** White after each bar line, before the first beat: stems do not stand on bar lines. */
  readonly lead: number;
  /** From the line's left edge to its last bar line. */
  readonly width: number;
}

export interface LayoutOptions {
  readonly bars: number;
  /** Room for a line, from its left edge. */
  readonly width: number;
  /** Room before the first bar of the first line, where the metre stands, and of the later ones. */
  readonly firstHead: number;
  readonly laterHead: number;
  /** Bars narrower than this wrap. */
  readonly leastBar: number;
  /** White after each bar line; less than a bar. */
  readonly lead: number;
}

/** Where a moment lies on the page. */
export interface Place {
  readonly line: number;
  /** From the line's left edge. */
  readonly x: number;
}

/** Phrases go in fours and eights, so lines do too. */
const LINE_LENGTHS = [8, 4, 2, 1] as const;

/**
 * The lines of a section. Every line but a last, shorter one is as wide as the room; that one keeps the bar width of the
 * line above it. A section that fits is one line, whatever its length. At least one bar.
 */
export function layOut({ bars, width, firstHead, laterHead, leastBar, lead }: LayoutOptions): readonly SystemLine[] {
  const fits = (count: number): boolean => width - firstHead >= count * leastBar;
  const most = LINE_LENGTHS.find(fits) ?? 1;
  const perLine = Math.max(1, Math.min(most, bars));
  const lines: SystemLine[] = [];
  for (let firstBar = 0; firstBar < bars; firstBar += perLine) {
    const head = firstBar === 0 ? firstHead : laterHead;
    const count = Math.min(perLine, bars - firstBar);
    const barWidth = Math.max(0, (width - head) / perLine);
    lines.push({ firstBar, bars: count, head, barWidth, lead, width: head + count * barWidth });
  }
  return lines;
}

/**
 * The distance from a line's left edge to a moment in bars of the section, whole for bar lines: what falls on a bar line is
 * drawn just after it, and the moments of a bar lie evenly on the rest.
 */
export function xOf(line: SystemLine, moment: number): number {
  const bar = Math.floor(moment);
  return line.head + (bar - line.firstBar) * line.barWidth + line.lead + (moment - bar) * (line.barWidth - line.lead);
}

/** The place of a bar (from 0) and the part of it that has passed; null beyond the last line. */
export function placeOf(lines: readonly SystemLine[], bar: number, phase: number): Place | null {
  const line = lines.findIndex(({ firstBar, bars }) => bar >= firstBar && bar < firstBar + bars);
  const found = lines[line];
  return found === undefined ? null : { line, x: xOf(found, bar + Math.min(phase, 0.9999)) };
}
